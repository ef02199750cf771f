"""Colours are told apart by any eyes, and never the only sign."""

from __future__ import annotations

import itertools
from typing import Any

import numpy as np
import pytest

from footwork.show import ink
from footwork.show.draw import compose
from show.sheds import crowded
from show.test_plans import handed_on

# Machado, Oliveira and Fernandes (2009), severity 1, on linear RGB; the figures are from memory.
EYES = {
    "usual": np.eye(3),
    "no red": np.array(
        [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]]
    ),
    "no green": np.array(
        [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]]
    ),
    "no blue": np.array(
        [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]]
    ),
    "no colour": np.array([[0.2126, 0.7152, 0.0722]] * 3),
}
XYZ = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])  # of sRGB


def linear(color: str) -> np.ndarray:
    """Linear RGB of ``#rrggbb`` (IEC 61966-2-1)."""
    value = np.array([int(color[k : k + 2], 16) / 255 for k in (1, 3, 5)])
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)


def contrast(one: str, other: str) -> float:
    """The contrast ratio of WCAG 2: 1 to 21."""
    low, high = sorted(float(linear(c) @ [0.2126, 0.7152, 0.0722]) for c in (one, other))
    return (high + 0.05) / (low + 0.05)


def apart(one: str, other: str, eyes: str) -> float:
    """Colour difference (CIE 1976 L*a*b*, 2 or 3 is just seen) as those eyes see it."""

    def lab(color: str) -> np.ndarray:
        t = XYZ @ np.clip(EYES[eyes] @ linear(color), 0, 1) / [0.9505, 1.0, 1.089]
        f = np.where(t > 0.008856, np.cbrt(t), 7.787 * t + 16 / 116)
        return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])

    return float(np.linalg.norm(lab(one) - lab(other)))


COLOURS = {*ink.ROUTES, ink.STANDING, ink.MOVE}


@pytest.mark.parametrize("eyes", [e for e in EYES if e != "no colour"])
def test_failures_stand_apart_from_all_else(eyes: str) -> None:
    for color in COLOURS:
        assert apart(color, ink.FAIL, eyes) > 20, color


def test_lines_and_the_text_on_them_have_contrast() -> None:
    for color in (*COLOURS, ink.FAIL):
        assert contrast(color, ink.PAPER) >= 4.5  # numbers in white on it, lines on paper
        assert contrast(color, ink.STATION) >= 3.0  # lines that cross a station
    for grey in (ink.INK, ink.SOFT_INK):
        assert contrast(grey, ink.PAPER) >= 4.5
        assert contrast(grey, ink.STATION) >= 4.5


@pytest.mark.parametrize("eyes", EYES)
def test_classes_of_walking_get_darker_step_by_step(eyes: str) -> None:
    light = [float((EYES[eyes] @ linear(color)) @ [0.2126, 0.7152, 0.0722]) for color in ink.WALKING]
    assert light == sorted(light, reverse=True)
    for a, b in itertools.pairwise(ink.WALKING):
        assert contrast(a, b) > 1.25
        assert apart(a, b, eyes) > 7
    assert contrast(ink.WALKING[0], ink.PAPER) > 1.1


WAYS: list[dict[str, Any]] = [
    {"job": "sort"},
    {"walking": True},
    {"standing": True},
    {"before": handed_on(crowded())},
    {},
]


@pytest.mark.parametrize("way", WAYS, ids=lambda way: next(iter(way), "plain"))
def test_in_grey_a_plan_says_the_same(way: dict[str, Any]) -> None:
    """Each sign in colour has a shape, a number or words of its own besides."""
    drawing = compose(crowded(), "today", **way)
    texts = [t.get_text() for t in drawing.board.figure.axes[0].texts]
    for mark in drawing.marks:  # a triangle with its number, and its words in the notes
        assert mark.subject in texts
        if mark.at is not None:
            assert str(mark.number) in texts
    if drawing.route is not None:
        for halt in drawing.route.halts:
            assert str(halt.number) in texts
    for shift in drawing.shifts:
        assert str(shift.number) in texts
        assert any(label.text.startswith(f"{shift.number} ") for label in drawing.labels)
    for circle in drawing.circles:
        assert circle.hours in texts
    dashed = {
        round(p.get_edgecolor()[2], 2)
        for p in drawing.board.figure.axes[0].patches
        if p.get_linestyle() != "-"
    }
    if drawing.shifts:  # old places are dashed, new ones are not
        assert round(int(ink.MOVE[5:], 16) / 255, 2) in dashed


def test_the_legend_explains_every_colour_that_is_used() -> None:
    words = {
        "walked once in the job": {"job": "sort"},
        "and more": {"walking": True},
        "hours standing a year": {"standing": True},
        "old place, number": {"before": handed_on(crowded())},
    }
    for sample, way in words.items():
        texts = [t.get_text() for t in compose(crowded(), "today", **way).board.figure.axes[0].texts]
        assert any(sample in text for text in texts), sample
