"""True to scale: millimetres measured in the files themselves."""

from __future__ import annotations

import re
import struct
import zlib
from pathlib import Path

import numpy as np
import pytest

from footwork.model.errors import UsageError
from footwork.model.read import loads
from footwork.model.scenario import Scenario
from footwork.show.draw import compose, draw
from footwork.show.sheet import PAPERS, fit, read_wish
from show.sheds import crowded

POINT = 25.4 / 72
ROOM = """
name = "Plain room"
units = "{units}"
[room]
size = {size}
[stations.bench]
size = {bench}
[layouts.today]
bench = {{ at = {at}, facing = "south" }}
"""


def metric() -> Scenario:
    """4.3 m x 3.2 m, with a bench of 1.5 m x 0.7 m."""
    return loads(ROOM.format(units="m", size=[4.3, 3.2], bench=[1.5, 0.7], at=[2.0, 2.0]))


def imperial() -> Scenario:
    """14 ft x 11 ft, with a bench of 5 ft x 2 ft."""
    return loads(ROOM.format(units="ft", size=[14, 11], bench=[5, 2], at=[7, 6]))


def sizes(points: list[list[tuple[float, float]]]) -> set[tuple[float, float]]:
    """Widths and heights in millimetres, to a hundredth, of outlines given in points."""
    found = set()
    for ring in points:
        xy = np.array(ring) * POINT
        width, height = xy.max(axis=0) - xy.min(axis=0)
        found.add((round(float(width), 2), round(float(height), 2)))
    return found


def svg_outlines(path: Path) -> tuple[tuple[float, float], list[list[tuple[float, float]]]]:
    """The paper's size and the outlines of an svg, in points."""
    text = path.read_text(encoding="utf-8")
    width, height = re.search(r'<svg [^>]*width="([\d.]+)pt" height="([\d.]+)pt"', text).groups()  # type: ignore[union-attr]
    box = re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', text)
    assert box is not None
    assert box.groups() == (width, height)  # a unit of the drawing is a point on paper
    rings = []
    for d in re.findall(r' d="([^"]*)"', text):
        if set(re.findall("[A-Za-z]", d)) <= set("MLz"):
            rings.append([(float(x), float(y)) for x, y in re.findall(r"[ML] ([\d.-]+) ([\d.-]+)", d)])
    return (float(width), float(height)), rings


def pdf_outlines(path: Path) -> tuple[tuple[float, float], list[list[tuple[float, float]]]]:
    """The same of a pdf, from the page's own stream."""
    raw = path.read_bytes()
    box = re.search(rb"/MediaBox \[ ?0 0 ([\d.]+) ([\d.]+) ?\]", raw)
    assert box is not None
    rings: list[list[tuple[float, float]]] = []
    for stream in re.findall(rb"stream\r?\n(.*?)\r?\nendstream", raw, re.S):
        try:
            text = zlib.decompress(stream).decode("latin-1")
        except zlib.error:
            continue
        for a, b in re.findall(
            r"(?<![\d.-])([\d.-]+) ([\d.-]+) [\d.-]+ [\d.-]+ [\d.-]+ [\d.-]+ cm$", text, re.M
        ):
            assert np.hypot(float(a), float(b)) == pytest.approx(
                1.0
            )  # text is moved and turned, nothing is scaled
        for path_text in re.findall(r"(?:^[\d.-]+ [\d.-]+ [ml]\n)+", text, re.M):
            for part in re.split(r"(?=^[\d.-]+ [\d.-]+ m\n)", path_text, flags=re.M):
                points = re.findall(r"([\d.-]+) ([\d.-]+) [ml]", part)
                if points:
                    rings.append([(float(x), float(y)) for x, y in points])
    return (float(box[1]), float(box[2])), rings


@pytest.mark.parametrize(
    ("kind", "scale", "paper"),
    [("svg", "1:25", "A3"), ("pdf", "1:25", "A3"), ("pdf", "1:20", "a2"), ("svg", "1:40", "A4")],
)
def test_a_metre_measures_what_the_scale_says(kind: str, scale: str, paper: str, tmp_path: Path) -> None:
    out = tmp_path / f"plan.{kind}"
    draw(metric(), "today", out, scale=scale, paper=paper)
    page, rings = (svg_outlines if kind == "svg" else pdf_outlines)(out)
    factor = 1000 / float(scale.split(":")[1])
    wanted = sorted(PAPERS[paper.upper()])
    assert sorted(side * POINT for side in page) == pytest.approx(wanted, abs=0.01)
    found = sizes(rings)
    for size in ((4.3, 3.2), (1.5, 0.7)):  # the room's floor, the bench
        near = [f for f in found if np.allclose(f, np.array(size) * factor, atol=0.02)]
        assert near, f"no outline of {size} m at {scale}"


def test_half_an_inch_to_the_foot_measures_half_an_inch(tmp_path: Path) -> None:
    out = tmp_path / "plan.pdf"
    draw(imperial(), "today", out, scale="1/2 in = 1 ft", paper="tabloid")
    page, rings = pdf_outlines(out)
    assert sorted(page) == pytest.approx([11 * 72, 17 * 72], abs=0.01)
    found = sizes(rings)
    for feet in ((14, 11), (5, 2)):
        assert any(np.allclose(f, np.array(feet) * 12.7, atol=0.02) for f in found)


@pytest.mark.parametrize("paper", ["A3", "A0"])
def test_a_png_says_its_dots_an_inch(paper: str, tmp_path: Path) -> None:
    out = tmp_path / "plan.png"
    draw(metric(), "today", out, paper=paper)
    raw = out.read_bytes()
    width, height = struct.unpack(">II", raw[16:24])
    at = raw.index(b"pHYs")
    across, up, unit = struct.unpack(">IIB", raw[at + 4 : at + 13])
    assert unit == 1  # dots a metre
    assert across == up
    assert sorted((1000 * width / across, 1000 * height / up)) == pytest.approx(
        sorted(PAPERS[paper]), abs=0.3
    )


def test_the_scale_is_in_words_on_the_sheet() -> None:
    texts = [
        t.get_text() for t in compose(metric(), "today", scale="1:25", paper="A3").board.figure.axes[0].texts
    ]
    assert "1:25 on A3, printed at 100 %" in texts


def test_a_scale_alone_finds_its_paper_and_a_paper_alone_its_scale() -> None:
    assert compose(metric(), "today", scale="1:10").sheet.paper == "A2"
    sheet = compose(metric(), "today", paper="A2").sheet
    assert (sheet.paper, sheet.scale_words) == ("A2", "1:10")


@pytest.mark.parametrize(
    ("scale", "denominator"),
    [
        ("1:25", 25),
        (" 1 : 12.5 ", 12.5),
        ("1/50", 50),
        ("1/2 in = 1 ft", 24),
        ("1/4\" = 1'", 48),
        ("1 cm = 0.5 m", 50),
    ],
)
def test_scales_in_words(scale: str, denominator: float) -> None:
    wish = read_wish(scale, None)
    assert wish.scale is not None
    assert wish.scale.denominator == pytest.approx(denominator)


@pytest.mark.parametrize(
    ("scale", "paper", "says"),
    [
        ("25", None, "--scale 25: not a scale; write it as 1:25, or as 1/2 in = 1 ft"),
        ("1:0", None, "--scale 1:0: give one between 1:1 and 1:10000"),
        ("2:1", None, "--scale 2:1: not a scale; write it as 1:25, or as 1/2 in = 1 ft"),
        ("1 in = 0 ft", None, "--scale 1 in = 0 ft: give one between 1:1 and 1:10000"),
        ("0 in = 1 ft", None, "--scale 0 in = 1 ft: not a scale; write it as 1:25, or as 1/2 in = 1 ft"),
        ("1:nan", None, "--scale 1:nan: not a scale; write it as 1:25, or as 1/2 in = 1 ft"),
        (None, "A33", "--paper A33: no such paper; did you mean 'A3'?"),
        ("1:25", "A4", ("--scale 1:25 --paper A4: the plan takes 275 x 331 mm beside title and notes; "
                        "--paper A2 or --scale 1:75 would do")),
        ("1:1", None, "--scale 1:1: the plan takes"),
    ],
)  # fmt: skip
def test_a_scale_that_cannot_be_is_one_line_and_no_file(
    scale: str | None, paper: str | None, says: str, tmp_path: Path
) -> None:
    with pytest.raises(UsageError) as fault:
        draw(crowded(), "today", tmp_path / "plan.svg", scale=scale, paper=paper)
    assert len(fault.value.lines) == 1
    assert fault.value.lines[0].startswith(says)
    assert list(tmp_path.iterdir()) == []


def test_scale_is_customary_where_none_is_asked_for() -> None:
    sheet = fit((0, 0, 10, 7), (10, 10, 10, 10), "m", False, 8.0)
    assert (sheet.paper, sheet.scale_words) == ("A3", "1:40")
    assert np.allclose(sheet.mm((1.0, 0.0)) - sheet.mm((0.0, 0.0)), (25.0, 0))
    assert np.allclose(sheet.metres(sheet.mm((3.2, 1.1))), (3.2, 1.1))
    feet = fit((0, 0, 6.1, 6.1), (10, 10, 10, 10), "ft", False, 8.0)
    assert (feet.paper, feet.scale_words) == ("tabloid", "3/8\" = 1'")


@pytest.mark.parametrize("side", [0.5, 3.0, 40.0, 900.0])
def test_any_room_fits_some_scale(side: float) -> None:
    sheet = fit((0, 0, side, side / 2), (12, 12, 12, 12), "m", True, 8.0)
    low, high = sheet.mm((0, 0)), sheet.mm((side, side / 2))
    assert (low >= sheet.plan[:2]).all()
    assert (high <= sheet.plan[2:]).all()
