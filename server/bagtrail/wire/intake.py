"""Messages about intakes: a table, a pasted text or a manual on its way into a kit.

What is found in one is a list of *findings*, each a record to be, in plain values that name other
things by their numbers and not by ids.  A person looks them through, corrects them, and takes the
intake into a kit; nothing is written to the journal before that.
"""

from __future__ import annotations

from typing import Any

from marshmallow import Schema, fields, validate

from .fields import Frame, Number, Ref, Several, Sha256, Text, Whole, Word
from .messages import Message, ProblemMessage

#: Kinds of intakes, and the bytes that each may have at most.
KINDS: dict[str, int] = {"table": 25_000_000, "text": 1_000_000, "manual": 100_000_000}
#: ``reading``: under way.  ``ready``: read to its end.  ``stopped``: by a person, with what was
#: read until then.  ``failed``: ``problem`` says why.  ``taken``: written into its kit.
STATES = ("reading", "ready", "stopped", "failed", "taken")
#: Findings in one page of a list.
FINDINGS_MAX = 500
PAGES_MAX = 300


class SectionValues(Message):
    title = Text(160)
    mark = Text(20)


class BagValues(Message):
    number = Text(20, least=1, required=True)
    title = Text(160)


class StepValues(Message):
    """``section``: its title, or its mark; ``bags``: their numbers."""

    number = Text(20, least=1, required=True)
    title = Text(160)
    text = Text(4000)
    minutes = Number(0, 6000)
    section = Text(160)
    bags = Several(Text(20, least=1, required=True), 40)


class OperationValues(Message):
    step = Text(20, least=1, required=True)
    text = Text(1000, least=1, required=True)


class PartValues(Message):
    """A part without a place to be: what is said of it, if no bag or step is."""

    number = Text(60)
    name = Text(160)
    designation = Text(120)
    material = Text(60)


class PartLineValues(PartValues):
    """``bag`` and ``step``: their numbers."""

    quantity = Whole(0, 100_000, required=True)
    bag = Text(20)
    step = Text(20)


#: What a finding can be, and its values.
VALUES: dict[str, type[Schema]] = {
    "section": SectionValues,
    "bag": BagValues,
    "step": StepValues,
    "operation": OperationValues,
    "part": PartValues,
    "part_line": PartLineValues,
}
WHATS = tuple(VALUES)


class Question(Schema):
    """What the reader could not know.  ``options``: values that it takes to be possible, likeliest
    first; a person may say another."""

    field = fields.String(required=True)
    says = fields.String(required=True)
    options = fields.List(fields.Raw(), required=True)


class Finding(Schema):
    """``id``: its number within the intake.  ``row``: of the table or text, from 1.  ``frame``:
    where on the page it stands.  ``text``: what was read.  ``sure``: 0 to 1.  A finding whose
    ``asks`` is not empty is not taken until a person has answered or left it out."""

    id = fields.Integer(required=True)
    what = Word(*WHATS, required=True)
    page = fields.Integer(allow_none=True, required=True)
    row = fields.Integer(allow_none=True, required=True)
    frame = fields.List(fields.Float(), allow_none=True, required=True)
    text = fields.String(required=True)
    values = fields.Dict(required=True)
    sure = fields.Float(required=True)
    asks = fields.List(fields.Nested(Question), required=True)
    left_out = fields.Boolean(required=True)
    corrected = fields.Boolean(required=True)


class FindingsQuery(Message):
    after = fields.Integer(load_default=0)
    limit = fields.Integer(load_default=FINDINGS_MAX, validate=validate.Range(1, FINDINGS_MAX))
    page = fields.Integer(validate=validate.Range(1, PAGES_MAX))
    what = Word(*WHATS, required=False, allow_none=False)
    #: ``yes``: only those that ask something.
    asking = Word("yes", required=False, allow_none=False)


class FindingsPage(Schema):
    items = fields.List(fields.Nested(Finding), required=True)
    next = fields.Integer(allow_none=True, required=True)


class Correction(Message):
    """What a person says of one finding; what is left out stays.  Values given replace all values
    and answer every question.  ``as_read``: all that was said of it is taken back, so that it is
    and asks again what the reader had found."""

    id = fields.Integer(required=True)
    values = fields.Dict(keys=fields.String())
    frame = Frame()
    left_out = fields.Boolean()
    as_read = fields.Boolean()


class NewFinding(Message):
    """One that the reader did not see, drawn or typed by a person."""

    what = Word(*WHATS, required=True)
    page = fields.Integer(validate=validate.Range(1, PAGES_MAX), allow_none=True)
    frame = Frame()
    values = fields.Dict(required=True, keys=fields.String())


class Corrections(Message):
    changed = fields.List(
        fields.Nested(Correction), load_default=list, validate=validate.Length(max=FINDINGS_MAX)
    )
    added = fields.List(
        fields.Nested(NewFinding), load_default=list, validate=validate.Length(max=FINDINGS_MAX)
    )


class CorrectionsReply(Schema):
    items = fields.List(fields.Nested(Finding), required=True)


class Unfit(Schema):
    """A row or cell that could not be read: where, what stood there, and why not."""

    file = fields.String(required=True)
    sheet = fields.String(allow_none=True, required=True)
    row = fields.Integer(required=True)
    column = fields.String(allow_none=True, required=True)
    text = fields.String(required=True)
    reason = fields.String(required=True)


class UnfitPage(Schema):
    items = fields.List(fields.Nested(Unfit), required=True)
    total = fields.Integer(required=True)


class UnfitQuery(Message):
    after = fields.Integer(load_default=0, validate=validate.Range(0))
    limit = fields.Integer(load_default=FINDINGS_MAX, validate=validate.Range(1, FINDINGS_MAX))


class Column(Schema):
    """``at``: from 0.  ``field``: what it is taken for (see ``COLUMNS``), null for nothing.
    ``sure``: 0 to 1; 1 where a person or the memory of an earlier file said so."""

    at = fields.Integer(required=True)
    heading = fields.String(required=True)
    samples = fields.List(fields.String(), required=True)
    field = fields.String(allow_none=True, required=True)
    sure = fields.Float(required=True)


class Layout(Schema):
    """How a table is read.  ``heading_row``: from 1, 0 if there is none.  ``remembered``: a person
    set the columns of an earlier file of this shape."""

    sheets = fields.List(fields.String(), required=True)
    sheet = fields.String(required=True)
    heading_row = fields.Integer(required=True)
    delimiter = fields.String(allow_none=True, required=True)
    encoding = fields.String(allow_none=True, required=True)
    decimal = fields.String(required=True)
    columns = fields.List(fields.Nested(Column), required=True)
    rows = fields.Integer(required=True)
    remembered = fields.Boolean(required=True)


#: What a column can be: the thing and its field.
COLUMNS: tuple[str, ...] = (
    "section.title", "bag.number", "bag.title", "step.number", "step.title", "step.text",
    "step.minutes", "step.bags", "operation.text", "part.number", "part.name",
    "part.designation", "part.material", "part.quantity", "part.text",
)  # fmt: skip


class LayoutChange(Message):
    """Another way to read the table; it is read anew."""

    sheet = Text(255, allow_none=False)
    heading_row = Whole(0, 100, allow_none=False)
    decimal = Word(".", ",", allow_none=False)
    columns = fields.List(
        fields.String(allow_none=True, validate=validate.OneOf(COLUMNS)),
        validate=validate.Length(max=500),
    )


class IntakeMessage(Schema):
    """``done`` of ``total``: pages of a manual, rows of a table.  ``counts``: findings that would
    be taken, by what they are; ``asking``: findings that wait for an answer; ``unfit``: rows and
    cells that could not be read."""

    id = fields.String(required=True)
    kind = Word(*KINDS, required=True)
    name = fields.String(required=True)
    kit = fields.String(allow_none=True, required=True)
    state = Word(*STATES, required=True)
    done = fields.Integer(required=True)
    total = fields.Integer(required=True)
    made_at = fields.String(required=True)
    problem = fields.Nested(ProblemMessage, allow_none=True, required=True)
    layout = fields.Nested(Layout, allow_none=True, required=True)
    counts = fields.Dict(keys=fields.String(), values=fields.Integer(), required=True)
    asking = fields.Integer(required=True)
    unfit = fields.Integer(required=True)


class IntakeList(Schema):
    items = fields.List(fields.Nested(IntakeMessage), required=True)


class IntakeQuery(Message):
    """``name``: that of the file.  ``kit``: the kit that it is for; none for a new one."""

    kind = Word(*KINDS, required=True)
    name = Text(255, allow_none=False, load_default="")
    kit = Ref("kit", allow_none=False)


class IntakePage(Schema):
    """A page of a manual; ``problem`` says why it could not be read, and then there is no ``blob``
    or no text.  ``has_text`` is false for a scanned one."""

    number = fields.Integer(required=True)
    blob = Sha256(required=True, allow_none=True)
    width_px = fields.Integer(allow_none=True, required=True)
    height_px = fields.Integer(allow_none=True, required=True)
    has_text = fields.Boolean(required=True)
    steps = fields.Integer(required=True)
    asking = fields.Integer(required=True)
    problem = fields.Nested(ProblemMessage, allow_none=True, required=True)


class IntakePages(Schema):
    items = fields.List(fields.Nested(IntakePage), required=True)


class Take(Message):
    """``kit``: to write into; without it a new one is made with ``name``, and a build of it.
    ``pages``: whether a manual's pages are kept as pictures."""

    kit = Ref("kit", allow_none=False)
    name = Text(120, allow_none=False)
    pages = fields.Boolean(load_default=True)


class TakeReply(Schema):
    """``made`` and ``changed``: records by type.  ``clashes``: records in which somebody had said
    something else since; both are kept, and a person is asked.  ``left``: findings that were not
    taken because they still ask, or because a person had deleted what they are about."""

    kit = fields.String(required=True)
    build = fields.String(allow_none=True, required=True)
    made = fields.Dict(keys=fields.String(), values=fields.Integer(), required=True)
    changed = fields.Dict(keys=fields.String(), values=fields.Integer(), required=True)
    clashes = fields.Integer(required=True)
    left = fields.Integer(required=True)


def values_of(what: str, given: dict[str, Any]) -> dict[str, Any]:
    """The values of a finding, checked.  Raises marshmallow's ValidationError."""
    loaded: dict[str, Any] = VALUES[what]().load(given)
    return loaded
