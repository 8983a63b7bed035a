"""No spelling of a record makes an operator a lead, and no honest record is called wrong."""

from __future__ import annotations

from typing import TYPE_CHECKING

from checklist.forgery_trial import Trial, honest_shops

if TYPE_CHECKING:
    from pathlib import Path


def test_of_some_hundred_spellings_signed_by_an_operator_none_counts_as_a_leads(tmp_path: Path) -> None:
    trial = Trial(tmp_path, seed=1)
    trial.run(600)
    assert trial.taken_for_a_lead == []
    assert trial.read_apart == []
    assert trial.would_fool > 20  # by a search for the first `[record]`, or by a second reader
    assert trial.own > 5  # some are honest records of the operator, and count as such


def test_some_intact_chains_of_every_kind_of_record_raise_no_alarm(tmp_path: Path) -> None:
    found = honest_shops(tmp_path, 12, seed=1)
    assert found.alarms == []
    assert found.records > 60
