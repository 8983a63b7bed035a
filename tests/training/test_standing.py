"""The trainer's view: what was shown, what is due again, and the shop's gate for working alone."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from practice_samples import AT, book, by, judged

from preflight.quantities import Kind, parse
from preflight.shop.problems import FileProblemsError
from preflight.training.gate import Gate, gate_of
from preflight.training.generator import generated
from preflight.training.records import MAY_WORK, NEAR_MISS, OBSERVED, practice
from preflight.training.standing import Standing, repeat_deviation, standings

if TYPE_CHECKING:
    from pathlib import Path

NAME = "K. Nilsen"


def days(count: float) -> datetime:
    return AT + timedelta(days=count)


def stand(shop: Path, now: datetime, gate: Gate | None = None) -> Standing:
    return standings(practice(shop), gate or Gate(), now)[0]


def parts(one: Standing) -> dict[str, bool]:
    return {part.name: part.met for part in one.gate}


def ready(shop: Path) -> None:
    """Everything that the default gate asks."""
    kept = book(shop)
    for seed in range(15):
        sitting = judged(generated(seed, 2))
        kept.save_drill(sitting.drill, sitting.marked, 2, by(NAME, days(seed / 24)), random=True)
    for start in range(5):
        kept.save_mark(NAME, OBSERVED, "", by("T. Brandt", days(1 + start), role="trainer"))
    kept.save_strips([1e-5] * 10, [1e-5, -1e-5] * 5, by(NAME, days(6)))


def test_the_gate_is_met_by_all_of_it_and_by_nothing_less(tmp_path: Path) -> None:
    ready(tmp_path)
    one = stand(tmp_path, days(7))
    assert one.gate_met, one.gate
    assert one.score == 100
    assert not one.holds
    assert not one.marked


def test_one_missed_safety_fault_closes_the_gate(tmp_path: Path) -> None:
    ready(tmp_path)
    sitting = judged("power-came-back", right=False)
    book(tmp_path, "again").save_drill(sitting.drill, sitting.marked, 2, by(NAME, days(6.5)), random=True)
    assert parts(stand(tmp_path, days(7))) | {"safety": False, "stops": False} == parts(stand(tmp_path, days(7)))
    assert not stand(tmp_path, days(7)).gate_met


def test_picked_drills_do_not_count_for_the_gate_and_hurried_ones_are_not_passed(tmp_path: Path) -> None:
    kept = book(tmp_path)
    for seed in range(12):
        hurried = judged(generated(seed, 2), seconds=0.1)
        kept.save_drill(hurried.drill, hurried.marked, 2, by(NAME, days(seed)), random=True)
        picked = judged("fan-last")
        kept.save_drill(picked.drill, picked.marked, 2, by(NAME, days(seed)), random=False)
    assert stand(tmp_path, days(20)).gate[0].statement.startswith("0 passed of the last 12 drawn")


def test_a_mark_by_somebody_who_is_no_trainer_does_not_count(tmp_path: Path) -> None:
    kept = book(tmp_path)
    for start in range(6):
        kept.save_mark(NAME, OBSERVED, "", by("A friend", days(start)))
    kept.save_mark(NAME, MAY_WORK, "", by("A friend", days(7)))
    kept.save_mark(NAME, MAY_WORK, "", by(NAME, days(7.5), role="trainer"))  # nobody marks oneself
    one = stand(tmp_path, days(8))
    assert not parts(one)["observed starts"]
    assert not one.holds


def test_a_trainers_mark_holds_for_its_time_until_a_near_miss_or_long_absence(tmp_path: Path) -> None:
    kept = book(tmp_path)
    kept.save_mark(NAME, MAY_WORK, "", by("T. Brandt", AT, role="trainer"))
    assert stand(tmp_path, days(30)).holds
    assert "nothing for 61 days" in stand(tmp_path, days(61)).marked
    sitting = judged("fan-last")
    kept.save_drill(sitting.drill, sitting.marked, 2, by(NAME, days(360)))
    assert stand(tmp_path, days(364)).holds
    assert not stand(tmp_path, days(366)).holds
    kept.save_mark(NAME, NEAR_MISS, "", by("T. Brandt", days(362), role="trainer"))
    assert "near miss" in stand(tmp_path, days(363)).marked
    assert not stand(tmp_path, days(363)).holds


def test_the_measuring_test_asks_both_truth_and_repeat(tmp_path: Path) -> None:
    kept = book(tmp_path)
    for at, (off, repeat, met) in enumerate(
        [(0.03e-3, 0.02e-3, True), (0.031e-3, 0.02e-3, False), (0, 0.022e-3, False)]
    ):
        kept.save_strips([off] + [0.0] * 9, [repeat, -repeat] * 5, by(NAME, days(at)))
        assert parts(stand(tmp_path, days(5)))["measuring"] is met


def test_the_deviation_of_a_repeat_is_that_of_one_reading() -> None:
    # σ of a difference of two readings is √2 times that of one (propagation of independent errors, JCGM 100:2008 5.1.2)
    assert repeat_deviation([3.0, -3.0, 3.0]) == pytest.approx(3.0 / 2**0.5)
    with pytest.raises(ValueError, match="no repeated reading"):
        repeat_deviation([])


def test_what_was_missed_is_due_again_soon_and_what_is_known_later(tmp_path: Path) -> None:
    kept = book(tmp_path)
    for drill, right in (("fan-last", True), ("slower-every-week", False)):
        sitting = judged(drill, right=right)
        kept.save_drill(sitting.drill, sitting.marked, 2, by(NAME, AT))
    again = judged("fan-last")
    kept.save_drill(again.drill, again.marked, 2, by(NAME, days(1)))
    assert [shelf.kind for shelf in stand(tmp_path, days(1.5)).due] == ["safety device"]
    assert {shelf.kind for shelf in stand(tmp_path, days(4)).due} == {"safety device", "air"}


def test_a_shop_sets_its_own_gate(tmp_path: Path) -> None:
    (tmp_path / "training.toml").write_text('schema = 1\npassed = 1\nout_of = 2\nstrips_within = "0.0010 in"\n')
    gate = gate_of(tmp_path)
    assert (gate.passed, gate.out_of, gate.observed_starts) == (1, 2, 5)
    assert gate.strips_within.value == pytest.approx(parse("0.0254 mm", Kind.LENGTH).value)
    (tmp_path / "training.toml").write_text("schema = 1\npased = 1\n")
    with pytest.raises(FileProblemsError, match="passed"):
        gate_of(tmp_path)
