"""From a sheet of visits to jobs, on the box shed (tests/box.py): hang is bench, drill, bench; fetch is rack,
drill, rack."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from box import BOX, write_box
from cli.run import footwork
from footwork.model.errors import UsageError
from footwork.model.read import load
from footwork.study.poisson import interval
from footwork.study.tally import Tally, tally


def counted(tmp_path: Path, sheet: str, text: str = BOX, **options: float) -> Tally:
    path = tmp_path / "visits.csv"
    path.write_text(sheet, encoding="utf-8")
    return tally(load(write_box(tmp_path, text)), path, **options)


# Two weeks: hang three times, the first two right after each other; a walk from rack to sink of no job.
VISITS = """\
time,place,job
2026-03-02 09:00,bench,hang
2026-03-02 09:05,drill,hang
2026-03-02 09:09,Bench,hang
2026-03-02 09:20,bench,hang
2026-03-02 09:25,drill,hang
2026-03-02 09:30,bench,hang
2026-03-15 10:00,rack,
10:02,sink,
2026-03-03 09:00,bench,hang
2026-03-03 09:05,drill,hang
2026-03-03 09:09,bench,hang
"""


def test_rows_of_a_job_are_times_it_was_done(tmp_path: Path) -> None:
    found = counted(tmp_path, VISITS)
    assert (found.weeks, found.rows) == (2.0, 11)
    assert [(job.name, job.rate.count, job.otherwise, job.known) for job in found.jobs] == [
        ("hang", 3, 0, True),
        ("rack to sink", 1, 0, False),
    ]
    low, high = interval(3)
    rate = found.jobs[0].rate
    assert (rate.per_year, rate.low, rate.high) == pytest.approx((3 * 26, low * 26, high * 26))
    assert found.unseen == ("fetch",)
    # between the second hang and the third lies a night: nobody walks then
    assert {(a, b): rate.count for a, b, rate in found.chart} == {
        ("bench", "drill"): 3,
        ("drill", "bench"): 3,
        ("rack", "sink"): 1,
    }


def test_the_file_keeps_its_comments_and_gets_frequencies_and_ranges(tmp_path: Path) -> None:
    found = counted(tmp_path, VISITS)
    assert "# doors" in found.text
    assert found.text.count("#") == BOX.count("#")
    jobs = {job.name: job for job in found.scenario.jobs}
    # 3 in 2 weeks; 0.6187 to 8.7673 of them (chi-square with 6 and 8 degrees of freedom, halved)
    assert jobs["hang"].times == "1.5 per week"
    assert jobs["hang"].times_range == pytest.approx((16.1, 228.0), rel=0.01)
    assert [visit.name for visit in jobs["rack to sink"].route] == ["rack", "sink"]
    untouched = load(write_box(tmp_path)).jobs[1]
    assert jobs["fetch"] == untouched


def test_weeks_of_a_job_stay(tmp_path: Path) -> None:
    text = BOX.replace('times = "1 per week", route', 'times = "1 per week", weeks = 26, route')
    job = counted(tmp_path, VISITS, text).scenario.jobs[0]
    assert (job.times, job.weeks) == ("1.5 per week", 26)
    assert job.times_per_year == pytest.approx(1.5 * 26)


def test_another_way_is_counted_and_told(tmp_path: Path) -> None:
    sheet = "order,place,job\n1,bench,hang\n2,sink,hang\n3,bench,hang\n4,rack,paint\n5,drill,paint\n"
    found = counted(tmp_path, sheet, weeks=1)
    assert [(job.name, job.rate.count, job.otherwise) for job in found.jobs] == [
        ("hang", 1, 1),
        ("paint", 1, 0),
    ]
    assert any("hang: 1 of 1 times another way, most often bench - sink - bench" in n for n in found.notes)
    assert [visit.name for visit in found.scenario.jobs[0].route] == ["bench", "drill", "bench"]


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_a_sheet_of_ticks_is_read_back(tmp_path: Path, separator: str) -> None:
    path = write_box(tmp_path)
    empty = footwork("tally", path, "--sheet", "--rows", "3")
    assert (empty.status, empty.err) == (0, "")
    head, *rows = empty.out.splitlines()
    assert (head, rows) == ("time,job,bench,drill,rack", [",,,,"] * 3)
    filled = [head, ",hang,1 3,2,", ",fetch,,2,1 3", ",fetch,,2,1 3", ",,x,,", ",,,,x"]
    found = counted(tmp_path, "\n".join(filled).replace(",", separator), weeks=2)
    assert [(job.name, job.rate.count, job.otherwise) for job in found.jobs] == [
        ("fetch", 2, 0),
        ("hang", 1, 0),
        ("bench to rack", 1, 0),
    ]


def test_every_unknown_place_is_named_with_the_nearest(tmp_path: Path) -> None:
    sheet = "time,place\n2026-03-02 09:00,bnech\n2026-03-02 09:01,bnech\n2026-03-02 09:02,rakc\nnoon,drill\n"
    with pytest.raises(UsageError) as fault:
        counted(tmp_path, sheet)
    path = tmp_path / "visits.csv"
    assert fault.value.lines == (
        f"{path}: line 5: 'noon' is no time; write it as 2026-03-01 14:05",
        f"{path}: no place 'bnech' (2 times, first in line 2); did you mean 'bench'?",
        f"{path}: no place 'rakc' (once, line 4); did you mean 'rack'?",
    )


@pytest.mark.parametrize(
    ("sheet", "said"),
    [
        ("", "the sheet is empty"),
        ("time,job\n2026-03-02,hang\n", "no column says where: it has time, job"),
        ("place,job\nbench,hang\n", "no column says when: it has place, job"),
        ("time,place\n", "no column says when"),
        ("order,place\n", "no row under its columns"),
        ("order,place\nfirst,bench\n", "'first' is no number in an order"),
        ("order,place\n1,bench\n2,drill\n", "say for how many weeks it was kept"),
        ("job,bench,dril\nhang,x,\n", "column 'dril' is no place; did you mean 'drill'?"),
        ("job,bench,drill\nhang,x,x\n", "several places are ticked; write 1, 2, 3"),
        ("job,bench,drill\nhang,,\n", "nothing is ticked"),
    ],
)
def test_what_is_wrong_with_a_sheet_is_said(tmp_path: Path, sheet: str, said: str) -> None:
    with pytest.raises(UsageError, match=said.replace("?", r"\?")):
        counted(tmp_path, sheet)


@pytest.mark.parametrize("options", [{"weeks": 0}, {"pause": -1}, {"level": 1.0}])
def test_options_are_checked(tmp_path: Path, options: dict[str, float]) -> None:
    with pytest.raises(UsageError, match="must be"):
        counted(tmp_path, VISITS, **options)


def test_the_command_merges_into_the_file_and_into_a_copy(tmp_path: Path) -> None:
    path, visits, copy = write_box(tmp_path), tmp_path / "visits.csv", tmp_path / "counted.toml"
    visits.write_text(VISITS)
    done = footwork("tally", path, visits)
    assert done.status == 0
    assert "hang" in done.out
    assert path.read_text() == BOX
    assert footwork("tally", path, visits, "--to", copy).err == f"saved in {copy}: 2 jobs counted\n"
    told = footwork("tally", path, visits, "--merge", "--json")
    assert path.read_text() == copy.read_text() != BOX
    assert json.loads(told.out)["jobs"][0]["count"] == 3
    assert footwork("score", path).status == 0
    # once more: the walk of no job is a job of the file by now, and counted as that
    assert "new to the file" not in footwork("tally", path, visits, "--merge").out
    assert path.read_text() == copy.read_text()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ([], "name the CSV file with the visits"),
        (["nosuch.csv"], "No such file"),
        (["VISITS", "--merge", "--to", "x.toml"], "exclude each other"),
        (["VISITS", "--sheet"], "leave out VISITS"),
        (["VISITS", "--to", "BOX"], "there is such a file already"),
        (["VISITS", "--weeks", "-2"], "not a number above 0"),
    ],
)
def test_wrong_usage_leaves_with_2(tmp_path: Path, words: list[str], said: str) -> None:
    path, visits = write_box(tmp_path), tmp_path / "visits.csv"
    visits.write_text(VISITS)
    named = {"VISITS": visits, "BOX": path}
    done = footwork("tally", path, *(named.get(word, word) for word in words))
    assert (done.status, done.out) == (2, "")
    assert said in done.err
    assert path.read_text() == BOX
