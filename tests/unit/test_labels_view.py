"""Labels over HTTP: what is printed for a kit, and plain answers to what cannot be printed."""

from __future__ import annotations

import io
import re
from dataclasses import replace

import pypdfium2 as pdfium
import pytest
import zxingcpp
from flask import Flask
from flask.testing import FlaskClient
from PIL import Image

from bagtrail.domain import epochs
from bagtrail.domain.paper.geometry import PRESETS
from bagtrail.settings import Settings
from bagtrail.trade import codes
from bagtrail.views.auth import COOKIE
from tests.conftest import opened, speaking

PUBLIC = "https://shed.example:8443"


@pytest.fixture
def app(settings: Settings):
    settings = replace(settings, public_url=PUBLIC)
    with opened(settings) as app:
        with app.app_context():
            epochs.settle(settings.epoch_file)
        yield app


def made(client: FlaskClient, collection: str, **values: object) -> str:
    reply = client.post(f"/api/{collection}", json=values)
    assert reply.status_code == 201, reply.text
    return str(reply.json["id"])


@pytest.fixture
def kit(owner: FlaskClient) -> dict[str, str]:
    """Two bags; bag 1 serves step 1.1 by name and step 1.3 by a part line."""
    kit = made(owner, "kits", name="Tarn 6")
    one = made(owner, "bags", kit=kit, number="1", title="Axle", order="a")
    two = made(owner, "bags", kit=kit, number="2", order="b")
    first = made(owner, "steps", kit=kit, number="1.1", order="a", bags=[one])
    third = made(owner, "steps", kit=kit, number="1.3", order="c")
    part = made(owner, "parts", kit=kit, name="Screw")
    made(owner, "part_lines", kit=kit, part=part, quantity=4, bag=one, step=third)
    return {"kit": kit, "one": one, "two": two, "first": first, "third": third}


def bag(client: FlaskClient, id_: str) -> dict[str, object]:
    return client.get(f"/api/bags/{id_}").json


def texts_of(pdf: bytes) -> list[str]:
    document = pdfium.PdfDocument(pdf)
    return [page.get_textpage().get_text_bounded() for page in document]


def symbols_of(image: Image.Image) -> set[str]:
    return {found.text for found in zxingcpp.read_barcodes(image)}


def test_labels_of_a_kit_open_in_any_reader_and_say_what_the_bag_serves(owner, kit):
    reply = owner.get(f"/labels/kits/{kit['kit']}.pdf")
    assert reply.status_code == 200
    assert reply.content_type == "application/pdf"
    assert "no-store" in reply.headers["Cache-Control"]
    (text,) = texts_of(reply.data)
    assert "Tarn 6" in text
    assert "Steps 1.1, 1.3" in text
    assert "Axle" in text
    image = pdfium.PdfDocument(reply.data)[0].render(scale=300 / 72).to_pil()
    assert symbols_of(image) == {
        f"https://SHED.EXAMPLE:8443/B/{bag(owner, kit[name])['code']}" for name in ("one", "two")
    }


def test_bag_without_a_code_gets_one_through_the_journal_and_keeps_it(owner, kit):
    workshop = owner.get("/api/session").json["workshop"]["id"]
    assert bag(owner, kit["one"])["code"] is None
    first = owner.get(f"/labels/kits/{kit['kit']}.pdf").data
    code = bag(owner, kit["one"])["code"]
    assert codes.normalise(code) == code
    assert codes.same_workshop(code, workshop)
    pulled = owner.get("/api/sync/pull").json["changes"]["set"]
    assert any(fields.get("code") == code for fields in pulled)
    assert owner.get(f"/labels/kits/{kit['kit']}.pdf").data == first
    assert bag(owner, kit["one"])["code"] == code


def test_pitfall_5_a_spoofed_host_does_not_get_onto_labels(app: Flask, owner, kit):
    url = f"/labels/kits/{kit['kit']}.pdf"
    usual = owner.get(url)
    assert usual.status_code == 200
    # A cookie belongs to one host, so the device shows its token otherwise here.
    owner.environ_base["HTTP_AUTHORIZATION"] = f"Bearer {owner.get_cookie(COOKIE).value}"
    # A trusted name that is not the public one, and headers that proxies add.
    for headers in (
        {"Host": "127.0.0.1:9999"},
        {"X-Forwarded-Host": "evil.example", "X-Forwarded-Proto": "http"},
        {"Forwarded": "host=evil.example"},
    ):
        reply = owner.get(url, headers=headers)
        assert reply.status_code == 200
        assert reply.data == usual.data
    assert owner.get(url, headers={"Host": "evil.example"}).status_code == 400


def test_strangers_get_no_labels(app: Flask, owner, kit):
    stranger = speaking(app)
    for url in (f"/labels/kits/{kit['kit']}.pdf", f"/labels/bags/{kit['one']}.png", "/api/sheets"):
        reply = stranger.get(url)
        assert reply.status_code == 401
        assert reply.json["type"] == "/api/problems/not-paired"


def test_only_the_bags_asked_for_are_printed_from_the_label_asked_for(owner, kit):
    reply = owner.get(f"/labels/kits/{kit['kit']}.png?bags={kit['two']}&start=3&sheet=a4-3x7")
    assert reply.status_code == 200
    assert reply.content_type == "image/png"
    image = Image.open(io.BytesIO(reply.data))
    (found,) = zxingcpp.read_barcodes(image)
    assert found.text.endswith(str(bag(owner, kit["two"])["code"]))
    label = PRESETS["a4-3x7"].label(2)
    left_mm = found.position.top_left.x * 25.4 / 300
    assert label.x < left_mm < label.x + label.width


def test_picture_of_one_label(owner, kit):
    reply = owner.get(f"/labels/bags/{kit['one']}.png?width_mm=60&height_mm=35")
    assert reply.status_code == 200
    image = Image.open(io.BytesIO(reply.data))
    assert image.size == (round(60 * 300 / 25.4), round(35 * 300 / 25.4))
    assert symbols_of(image) == {f"https://SHED.EXAMPLE:8443/B/{bag(owner, kit['one'])['code']}"}


def test_own_measures_replace_those_of_the_sheet(owner, kit):
    url = f"/labels/kits/{kit['kit']}.pdf?sheet=a4-3x7&columns=2&gap_x_mm=10"
    reply = owner.get(url)
    assert reply.status_code == 200
    assert reply.data != owner.get(f"/labels/kits/{kit['kit']}.pdf?sheet=a4-3x7").data


def test_page_of_a_label_roll_is_printed_with_as_much_ruler_as_fits(owner, kit):
    roll = (
        "columns=1&rows=1&left_mm=0&top_mm=0&width_mm=70&height_mm=40"
        "&label_width_mm=70&label_height_mm=40"
    )
    texts = texts_of(owner.get(f"/labels/kits/{kit['kit']}.pdf?{roll}").data)
    assert len(texts) == 3
    assert "60 mm" in texts[2]


def test_sheets_are_listed_by_geometry(owner):
    sheets = owner.get("/api/sheets").json["sheets"]
    assert [sheet["name"] for sheet in sheets] == list(PRESETS)
    for sheet in sheets:
        assert re.fullmatch(r"(a4|letter)-\d+x\d+(-edge)?", sheet["name"])
        assert sheet["columns"] * sheet["label_width_mm"] <= sheet["width_mm"]


@pytest.mark.parametrize(
    ("query", "says"),
    [
        ("sheet=nothing", "Choose one of a4-3x7"),
        ("start=0", "labels 1 to 21"),
        ("start=22", "labels 1 to 21"),
        ("dx=40", "paper size"),
        ("dx=nan", None),
        ("columns=4", "4 columns of 63.5 mm"),
        ("columns=0", None),
        ("label_height_mm=15&rows=1", "too small"),
        ("width_mm=19", "page width has to be 20 to 1200 mm"),
        ("dx=inf", None),
        ("start=1.5", None),
        ("bags=x", None),
        ("bags=", None),
        ("unheard_of=1", None),
        ("rows=1000000", None),
        ("left_mm=-3", None),
    ],
)
def test_what_cannot_be_printed_is_said_plainly(owner, kit, query, says):
    reply = owner.get(f"/labels/kits/{kit['kit']}.pdf?{query}")
    assert reply.status_code == 422, reply.text
    assert reply.content_type == "application/problem+json"
    assert reply.json["errors"]
    if says is not None:
        assert says in reply.json["detail"]
    assert "Traceback" not in reply.text


def test_unknown_kit_bag_and_page_are_not_found(owner, kit):
    stranger = "00000000-0000-4000-8000-00000000dead"
    for url in (
        f"/labels/kits/{stranger}.pdf",
        f"/labels/bags/{stranger}.png",
        f"/labels/kits/{kit['kit']}.pdf?bags={stranger}",
        f"/labels/kits/{kit['kit']}.png?page=2",
    ):
        reply = owner.get(url)
        assert reply.status_code == 404, url
        assert reply.json["type"] == "/api/problems/not-found"


def test_kit_without_bags_is_told_what_is_missing(owner):
    kit = made(owner, "kits", name="Empty")
    reply = owner.get(f"/labels/kits/{kit}.pdf")
    assert reply.status_code == 422
    assert "Add bags" in reply.json["detail"]


def test_two_bags_with_one_code_are_both_named(owner, kit):
    owner.get(f"/labels/kits/{kit['kit']}.pdf")
    code = bag(owner, kit["one"])["code"]
    other = made(owner, "kits", name="Tarn 8")
    made(owner, "bags", kit=other, number="9", code=code, order="a")
    for url in (f"/labels/kits/{kit['kit']}.pdf", f"/labels/bags/{kit['one']}.png"):
        reply = owner.get(url)
        assert reply.status_code == 422
        assert "bag 1 of Tarn 6" in reply.json["detail"]
        assert "bag 9 of Tarn 8" in reply.json["detail"]
    # Bag 2 is not concerned, and can still be printed.
    assert owner.get(f"/labels/bags/{kit['two']}.png").status_code == 200


def test_deleted_bags_and_steps_are_left_out(owner, kit):
    assert owner.delete(f"/api/bags/{kit['two']}").status_code == 204
    assert owner.delete(f"/api/steps/{kit['third']}").status_code == 204
    (text,) = texts_of(owner.get(f"/labels/kits/{kit['kit']}.pdf").data)
    assert "Step 1.1" in text
    assert "1.3" not in text


def test_hostile_names_are_letters_and_nothing_else(owner):
    kit = made(owner, "kits", name="<b>&amp;\u202e)(\\ %PDF \u0600 Kit")
    made(owner, "bags", kit=kit, number="\u202e<1>", title="(\\) endstream <script>", order="a")
    reply = owner.get(f"/labels/kits/{kit}.pdf")
    assert reply.status_code == 200
    (text,) = texts_of(reply.data)
    assert "<script>" in text
    assert "\u202e" not in text
    assert owner.get(f"/labels/kits/{kit}.png").status_code == 200


def test_labels_are_the_same_on_both_databases(database, owner, kit):
    reply = owner.get(f"/labels/kits/{kit['kit']}.pdf")
    assert reply.status_code == 200
    (text,) = texts_of(reply.data)
    assert "Steps 1.1, 1.3" in text
