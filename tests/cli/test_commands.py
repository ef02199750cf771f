"""What each command prints and how it leaves, on the box shed (tests/box.py) and the examples."""

from __future__ import annotations

import json
import re
import time
from pathlib import Path

import pytest

from box import BOX, write_box
from cli.run import footwork
from footwork.arrange.core.progress import Progress
from footwork.cli.progress import ProgressLine, describe
from footwork.model.json_schema import json_schema
from footwork.model.read import load

TODAY = BOX.index("[layouts.today]")
WALLED_IN = BOX[:TODAY] + BOX[TODAY:].replace("[5.0, 0.3]", "[5.0, 5.0]", 1)
"""The rack of the first layout stands right before the drill."""
SCENARIOS = Path(__file__).parents[2] / "scenarios"


def test_check_finds_no_fault(tmp_path: Path) -> None:
    done = footwork("check", write_box(tmp_path))
    assert done == (0, "no fault found: 8.00 m x 6.00 m, 4 stations, 1 vehicle, 2 jobs, 2 layouts\n", "")


def test_check_as_json(tmp_path: Path) -> None:
    path = write_box(tmp_path)
    assert json.loads(footwork("check", path, "--json").out) == {
        "file": str(path),
        "ok": True,
        "problems": [],
    }
    path = write_box(tmp_path, BOX.replace("placing", "plcaing"))
    done = footwork("check", path, "--json")
    told = json.loads(done.out)
    assert (done.status, done.err, told["ok"]) == (2, "", False)
    assert {problem["where"] for problem in told["problems"]} == {
        "stations.bench.plcaing",
        "stations.rack.plcaing",
    }


def test_check_rules_are_those_of_the_file(tmp_path: Path) -> None:
    path = write_box(tmp_path, BOX + "\n[checks]\ngives-minds = 3.5\n")
    usual = {rule["id"]: rule for rule in json.loads(footwork("check", "--rules", "--json").out)}
    own = {rule["id"]: rule for rule in json.loads(footwork("check", path, "--rules", "--json").out)}
    assert usual["gives-minds"]["figure"] == 2.0
    assert (own["gives-minds"]["figure"], own["gives-minds"]["source"]) == (3.5, "your file")
    assert usual.keys() == own.keys() >= {"within", "in-room", "reachable", "way-out", "wheelchair"}
    assert "gives-minds" in footwork("check", path, "--rules").out


def test_check_rules_tell_what_failing_costs(tmp_path: Path) -> None:
    checks = """
[checks]
gives-minds = { price = 40 }
accepted = { sparks-flammables = "a fire watch is kept" }
"""
    path = write_box(tmp_path, BOX + checks)
    told = {rule["id"]: rule for rule in json.loads(footwork("check", path, "--rules", "--json").out)}
    assert [told[id_]["price"] for id_ in ("gives-minds", "way-out", "placing")] == [40.0, 3000.0, None]
    assert told["sparks-flammables"]["accepted"] == "a fire watch is kept"
    lines = footwork("check", path, "--rules").out.splitlines()
    row = {line.split()[0]: line.split() for line in lines if line and not line.startswith(" ")}
    assert row["gives-minds"][:5] == ["gives-minds", "should", "2", "m", "40"]
    assert row["way-out"][4:6] == ["3,000", "m"]
    assert row["sparks-flammables"][1] == "accepted"
    assert "(accepted: a fire watch is kept)" in " ".join(" ".join(lines).split())


def test_score_as_json(tmp_path: Path) -> None:
    done = footwork("score", write_box(tmp_path), "--json")
    told = json.loads(done.out)
    assert (done.status, done.err) == (0, "")
    keys = ["scenario", "layout", "ok", "cost", "effort_metres", "prefer_metres", "check_metres", "walk"]
    assert list(told) == [*keys, "jobs", "standing", "checks", "notes"]
    assert (told["scenario"], told["layout"], told["ok"]) == ("Box", "today", True)
    assert told["cost"] == pytest.approx(312.0 + 873.6)
    hours, steps = 1185.6 / 1.2 / 3600, 1185.6 / 0.75
    walk = {"metres_per_year": 1185.6, "hours_per_year": hours, "steps_per_year": steps}
    assert told["walk"].pop("seasons") == {}
    assert told["walk"] == pytest.approx({**walk, "squeezed_metres_per_year": 0.0})
    hang = told["jobs"][0]
    assert hang["metres_each"] == pytest.approx(6.0)
    assert [(leg["from"], leg["to"]) for leg in hang["legs"]] == [("bench", "drill"), ("drill", "bench")]
    assert hang["legs"][0]["path"] == [pytest.approx([2.0, 5.1]), pytest.approx([5.0, 5.1])]


def test_score_of_a_layout_that_fails(tmp_path: Path) -> None:
    path = write_box(tmp_path, WALLED_IN)
    done = footwork("score", path)
    assert (done.status, done.err) == (1, "")
    assert "strips-clear" in done.out
    assert footwork("score", path, "--layout", "closer").status == 0


def test_score_names_every_job(tmp_path: Path) -> None:
    done = footwork("score", write_box(tmp_path))
    assert (done.status, done.err) == (0, "")
    assert "hang" in done.out
    assert "fetch" in done.out
    assert re.search(r"1[, ]?18[56]", done.out)
    assert "\x1b" not in done.out


def test_walk(tmp_path: Path) -> None:
    path = write_box(tmp_path)
    done = footwork("walk", path, "--job", "fetch", "--json")
    told = json.loads(done.out)
    assert (done.status, told["job"], told["metres_each"]) == (0, "fetch", pytest.approx(8.4))
    assert [leg["to"]["name"] for leg in told["legs"]] == ["drill", "rack"]
    assert told["legs"][0]["metres"] == pytest.approx(4.2)
    assert told["legs"][0]["steps"] == pytest.approx(4.2 / 0.75)
    assert told["legs"][0]["seconds"] == pytest.approx(4.2 / 1.2)
    text = footwork("walk", path, "--job", "fetch")
    assert (text.status, text.err) == (0, "")
    assert "4.2" in text.out


def test_walk_of_a_job_that_cannot_be_walked(tmp_path: Path) -> None:
    path = write_box(tmp_path, WALLED_IN)
    done = footwork("walk", path, "--job", "hang", "--json")
    assert done.status == 1
    told = json.loads(done.out)
    # from the bench to the drill and back; the rack's back is 0.1 m before the drill's face
    assert [leg["squeezed"]["over"] for leg in told["legs"]] == [0.0, 0.0]
    widths = [leg["squeezed"]["width"] for leg in told["legs"]]
    assert widths == pytest.approx([0.1, 0.1], abs=1e-6)
    assert told["metres_each"] == pytest.approx(sum(leg["metres"] for leg in told["legs"]))
    assert told["squeezed_metres_each"] == pytest.approx(told["metres_each"])
    assert footwork("walk", path, "--job", "hang").status == 1


def test_compare(tmp_path: Path) -> None:
    path = write_box(tmp_path)
    told = json.loads(footwork("compare", path, "closer", "today", "--json").out)
    assert [score["layout"] for score in told] == ["closer", "today"]
    done = footwork("compare", path)
    assert (done.status, done.err) == (0, "")
    assert done.out.index("today") < done.out.index("closer")


def test_stations() -> None:
    told = json.loads(footwork("stations", "--json").out)
    assert all(
        set(value) == {"value", "source"}
        for each in told
        for key, value in each.items()
        if key not in ("name", "also")
    )
    listed = footwork("stations")
    assert (listed.status, listed.err) == (0, "")
    assert all(each["name"] in listed.out for each in told)
    one = footwork("stations", "pillar drill")
    assert one.status == 0
    assert "common practice" in one.out
    assert "also called drill, drill press," in one.out
    assert footwork("stations", "floor drill press").out.startswith("pillar drill\n")
    both = footwork("stations", "chop saw").out
    assert "\nmitre saw " in both
    assert "\nabrasive cut-off saw " in both
    near = footwork("stations", "vise").out
    assert near.startswith("vice stand\n")
    assert "See also: workbench (" in near


def test_new_writes_a_file_that_can_be_arranged(tmp_path: Path) -> None:
    path = tmp_path / "shed.toml"
    done = footwork("new", path, "--room", "9x6.5")
    told = f"next: put in your room and stations, then: footwork suggest {path} --save first"
    assert done == (0, f"wrote {path} and the schema beside it, for editors\n{told}\n", "")
    assert path.read_text(encoding="utf-8").startswith("#:schema ./footwork.schema.json\n")
    assert json.loads((tmp_path / "footwork.schema.json").read_text(encoding="utf-8")) == json_schema()
    assert load(path).room.size == (9.0, 6.5)
    small = tmp_path / "nook.toml"
    (tmp_path / "footwork.schema.json").write_text("mine", encoding="utf-8")
    wrote, left_out, then = footwork("new", small, "--room", "13x10ft").out.splitlines()
    assert wrote == f"wrote {small}"
    assert re.fullmatch("left out, because the floor is taken: (.*, )?folder, compressor", left_out)
    assert then == told.replace(str(path), str(small))
    assert load(small).room.size == pytest.approx((13 * 0.3048, 10 * 0.3048))
    assert (tmp_path / "footwork.schema.json").read_text(encoding="utf-8") == "mine"
    assert footwork("check", path).status == 0


def test_draw(tmp_path: Path) -> None:
    out = tmp_path / "plan.svg"
    done = footwork("draw", write_box(tmp_path), "--out", out, "--job", "hang", "--layout", "closer")
    assert done == (0, f"wrote {out}\n", "")
    assert out.read_bytes().startswith(b"<?xml")
    done = footwork("draw", write_box(tmp_path), "--out", tmp_path / "plan.doc")
    assert (done.status, done.out, len(done.err.splitlines())) == (2, "", 1)


def test_suggest(tmp_path: Path) -> None:
    path = write_box(tmp_path)
    words = ["suggest", path, "--iterations", "300", "--pitch", "1", "--processes", "1"]
    done = footwork(*words, "--save", "best", "--json", "--quiet")
    told = json.loads(done.out)
    assert (done.status, done.err) == (0, f"saved as layout 'best' in {path}\n")
    assert list(told)[:2] == ["scenario", "base"]
    assert {"layouts", "bound", "gap", "status", "spots", "seconds", "seed"} <= set(told)
    best = told["layouts"][0]
    assert best["ok"]
    assert best["cost"] <= 1185.6
    saved = json.loads(footwork("score", path, "--layout", "best", "--json").out)
    assert saved["cost"] == pytest.approx(best["cost"])
    assert "# the box shed" in path.read_text(encoding="utf-8")
    assert footwork(*words, "--save", "best", "--replace", "--quiet").status == 0


def test_what_is_to_know_of_a_suggestion_is_said_once(tmp_path: Path) -> None:
    everything = "bench,drill,rack,sink,van"
    words = ["--iterations", "100", "--pitch", "1", "--anywhere", "--keep", everything, "--quiet"]
    done = footwork("suggest", write_box(tmp_path), *words)
    assert (done.status, done.err) == (0, "")
    assert " ".join(done.out.split()).count("Note: every station is kept, or has spots of its own") == 1


def test_progress_in_words() -> None:
    assert describe(Progress(3.2, 5200.4, 4940.0, "search")) == (
        "   3 s  search  best 5,200 m a year  at least 4,940 (gap 5.0%)"
    )
    assert describe(Progress(0.1, float("inf"), None, "spots")) == "   0 s  spots  no layout yet"
    assert describe(Progress(1, 0.0, 0.0, "search")) == "   1 s  search  best 0 m a year"
    assert describe(Progress(2, 0.0, None, "pair table", (650_000_000, 2_000_000_000))).endswith(
        "  0.7 GB of memory, 2.0 GB at most"
    )


def test_progress_in_a_file_is_a_line_now_and_then(capsys: pytest.CaptureFixture[str]) -> None:
    progress = ProgressLine()
    for second in range(100):
        progress(Progress(second, 10.0, None, "search"))
    progress.close()
    assert capsys.readouterr().err == "   0 s  search  best 10 m a year\n"
    ProgressLine(quiet=True)(Progress(1, 10.0, None, "search"))
    assert capsys.readouterr().err == ""


def test_progress_on_a_terminal_counts_on(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sys.stderr.isatty", lambda: True)
    monkeypatch.setattr("footwork.cli.progress.REDRAW", 0.01)
    progress = ProgressLine()
    progress(Progress(3.0, 10.0, None, "bound"))
    time.sleep(0.1)
    progress.close()
    told = capsys.readouterr().err
    assert told.count("\r\x1b[K   3 s  bound  best 10 m a year") > 1
    assert told.endswith("\r\x1b[K")


@pytest.mark.parametrize("path", sorted(SCENARIOS.glob("*.toml")), ids=lambda path: path.stem)
def test_the_examples_pass(path: Path) -> None:
    assert footwork("check", path).status == 0
    assert footwork("score", path, "--json").status == 0
