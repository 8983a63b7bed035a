"""What the command line says to somebody who mistypes, and how often it says the same thing."""

from __future__ import annotations

import shutil
from collections import Counter
from pathlib import Path

import pytest

from preflight.__main__ import main
from preflight.checks.finding import Finding, Verdict
from preflight.cli.assessment_text import finding_groups
from preflight.cli.init import make_shop
from preflight.shop.bundled import bundled, samples


def test_a_sheet_that_is_neither_file_nor_sample_names_the_samples(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["assess", "nosuch"]) == 3
    said = capsys.readouterr().err
    assert samples()
    assert all(name in said for name in samples())


def test_the_help_of_assess_names_the_samples(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["assess", "--help"]) == 0
    said = "".join(capsys.readouterr().out.split())
    assert all(name in said for name in samples())


def test_one_remedy_of_many_findings_is_said_once_and_for_how_many() -> None:
    found = [Finding(f"run {n}", Verdict.STOP, f"Run {n} is slow.", "Shut a gate.") for n in range(17)]
    found.append(Finding("bin", Verdict.STOP, "Full.", "Empty it."))
    said = list(finding_groups(found))
    assert sum("Shut a gate." in line for line in said) == 1
    assert "      do, for these 17: Shut a gate." in said
    assert "      do: Empty it." in said
    assert all(any(f"Run {n} is slow." in line for line in said) for n in range(17))


@pytest.mark.parametrize("sample", samples())
def test_no_remedy_of_a_sample_is_repeated_within_a_station(sample: str, capsys: pytest.CaptureFixture[str]) -> None:
    main(["assess", sample])
    station: list[str] = []
    for line in capsys.readouterr().out.splitlines():
        if not line.startswith(" "):
            assert max(Counter(station).values(), default=1) <= 2, station  # once a verdict: caution and stop
            station = []
        elif "do" in line.split(":", maxsplit=1)[0]:
            station.append(line.split(": ", maxsplit=1)[1])
    assert "Stations: " in line or line.startswith("Verdict: ")


def test_a_records_machine_may_be_named_as_verify_prints_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from preflight.cli.machine_ref import records_of
    from preflight.errors import PreflightError

    shop = tmp_path / "shop"
    make_shop(shop, empty=False)
    kept = records_of(shop, "hall-two")
    assert kept.startswith("m-")
    with pytest.raises(PreflightError):
        records_of(shop, kept)  # nothing kept under it yet
    (shop / "checklists" / kept).mkdir(parents=True)
    assert records_of(shop, kept) == kept


def test_a_machine_id_of_another_shape_is_refused_in_plain_words(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = Path(shutil.copy(bundled() / "machines" / "hall-two.toml", tmp_path))
    text = path.read_text(encoding="utf-8")
    line = next(line for line in text.splitlines() if line.startswith('id = "m-'))
    path.write_text(text.replace(line, 'id = "hall"', 1), encoding="utf-8")
    assert main(["profiles", "check", str(path)]) != 0
    captured = capsys.readouterr()
    said = captured.out + captured.err
    assert '"m-" and 12 of 0-9 a-f are wanted' in said
    assert "pattern" not in said
