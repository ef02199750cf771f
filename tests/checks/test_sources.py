"""Each rule says where it is from, and what is published is told with the caution."""

from __future__ import annotations

from pathlib import Path

import pytest

import footwork
from footwork.checks.rule import COMMON_PRACTICE, YOUR_FILE, Rule, published
from footwork.checks.run import ALONE, CHECKS, PAIRS, RULES
from footwork.model.rules import RULE_IDS
from footwork.show.score_tables import SAFETY

PUBLISHED = published("")
EXAMPLES = sorted((Path(__file__).parents[2] / "scenarios").glob("*.toml"))


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.id)
def test_every_rule_has_a_source(rule: Rule) -> None:
    if rule.source.startswith(PUBLISHED):
        assert len(rule.source.removeprefix(PUBLISHED)) > 5, "it names no clause"
        assert rule.id in SAFETY, "what is published is told with the caution"
    else:
        assert rule.source in (COMMON_PRACTICE, YOUR_FILE)


def test_every_rule_is_listed_with_the_file_s_names() -> None:
    assert {rule.id for rule in RULES} == set(RULE_IDS)
    assert {rule.id for rule, _ in (*ALONE, *PAIRS)} <= {rule.id for rule, _ in CHECKS}
    assert set(RULE_IDS) >= SAFETY


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_every_result_has_a_source(path: Path) -> None:
    results = footwork.score(footwork.load(path)).checks
    assert results
    assert all(
        PUBLISHED in r.source or r.source in (COMMON_PRACTICE, YOUR_FILE) or r.source.startswith(YOUR_FILE)
        for r in results
    )
