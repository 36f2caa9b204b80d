"""How labels are asked for, and how sheets of labels are described.  Lengths in millimetres."""

from __future__ import annotations

from marshmallow import RAISE, Schema, fields, validate
from webargs.fields import DelimitedList

from .fields import Ref

_LENGTH = validate.Range(0, 1200)
_COUNT = validate.Range(1, 400)


class SheetMeasures(Schema):
    """Geometry of a sheet: page, columns x rows, one label, margins before the first, gaps."""

    width_mm = fields.Float(validate=_LENGTH)
    height_mm = fields.Float(validate=_LENGTH)
    columns = fields.Integer(validate=_COUNT)
    rows = fields.Integer(validate=_COUNT)
    label_width_mm = fields.Float(validate=_LENGTH)
    label_height_mm = fields.Float(validate=_LENGTH)
    left_mm = fields.Float(validate=_LENGTH)
    top_mm = fields.Float(validate=_LENGTH)
    gap_x_mm = fields.Float(validate=_LENGTH)
    gap_y_mm = fields.Float(validate=_LENGTH)


#: Names of the measures that make a sheet one's own.
MEASURES = tuple(SheetMeasures().fields)


class SheetMessage(SheetMeasures):
    name = fields.String(required=True)


class SheetList(Schema):
    sheets = fields.List(fields.Nested(SheetMessage), required=True)


class LabelsQuery(SheetMeasures):
    """``sheet``: name of a preset, whose measures the others replace one by one; ``start``: first
    label to use, from 1; ``dx``, ``dy``: moves everything right and down, in mm, to correct the
    printer; ``bags``: only these."""

    class Meta:
        unknown = RAISE

    sheet = fields.String(validate=validate.Length(max=40))
    start = fields.Integer(load_default=1)
    dx = fields.Float(load_default=0.0)
    dy = fields.Float(load_default=0.0)
    bags = DelimitedList(Ref("bag", required=True), validate=validate.Length(1, 1000))


class LabelsPictureQuery(LabelsQuery):
    """``page``: which page of the job, from 1."""

    page = fields.Integer(load_default=1, validate=validate.Range(1, 2000))


class OneLabelQuery(Schema):
    """Size of the one label, in mm."""

    class Meta:
        unknown = RAISE

    width_mm = fields.Float(load_default=63.5, validate=_LENGTH)
    height_mm = fields.Float(load_default=38.1, validate=_LENGTH)
