"""Plants faults one by one in a copy of this checkout and tells which of them the tests catch. Run by hand:

    python tests/plant_faults.py            all of them, one after the other: 24 minutes on a busy machine of two cores
    python tests/plant_faults.py clash dent  only those whose name holds one of these words

A fault is a change that a tired hand could make. Each names the tests that ought to catch it, so that it is clear where a
rule is held. A fault whose text isn't found, or is found twice, ends the run: the code moved on, and the list must follow.
A test for a fault that slipped is worth more than a fault that was caught.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

REPOSITORY = Path(__file__).resolve().parents[1]
COPIED = ("server", "templates", "static", "migrations", "seed_demo", "tests", "pyproject.toml", "README.md", "DEVELOPERS.md", "LICENSE")
LONGEST_S = 300
FEWEST_CAUGHT = 0.9


@dataclass(frozen=True)
class Fault:
    """One change. `more`: further words for pytest, such as --long."""

    name: str
    file: str
    old: str
    new: str
    tests: str
    more: tuple[str, ...] = ()


P = "server/proofyard/"
APPLY, RULES = f"{P}records/apply.py", f"{P}records/rules.py"
FAIR, CHOSEN = f"{P}shots/fair_hits.py", f"{P}views/chosen_energies.py"
WORDS_0008 = "migrations/versions/0008_the_fields_own_words.py"
T_APPLY, T_FAIR, T_CAVEATS = "tests/records/test_apply.py", "tests/shots/test_fair_hits.py", "tests/caveats/test_caveats.py"
T_JOIN, T_NEXT = "tests/access/test_joining.py", "tests/statistics/test_statistics_next_shot.py"
T_BEFORE, T_VIEWS = "tests/upgrade/test_a_book_of_the_version_before.py", "tests/views"
T_SHARES, T_LIMITS = "tests/statistics/test_statistics_shares.py", "tests/access/test_hosts_and_limits.py"

FAULTS = (
    # physics
    Fault(
        "energy: speed not squared",
        f"{P}physics/energy.py",
        "0.5 * mass_kg * speed_m_s * speed_m_s",
        "0.5 * mass_kg * speed_m_s",
        "tests/published/test_energies_and_momenta.py",
    ),
    Fault(
        "energy: the uncertainty of the speed counted once",
        f"{P}physics/energy.py",
        "math.hypot(mass_relative_u, 2.0 * speed_relative_u)",
        "math.hypot(mass_relative_u, speed_relative_u)",
        "tests/published/test_energies_and_momenta.py tests/physics/test_physics_energy.py",
    ),
    Fault(
        "flight: energy falls as slowly as speed",
        f"{P}physics/flight.py",
        "energy_at_chronograph_j * math.exp(-2 * drag_per_m * distance_m)",
        "energy_at_chronograph_j * math.exp(-drag_per_m * distance_m)",
        "tests/published/test_flight.py tests/physics/test_physics_flight.py",
    ),
    Fault(
        "flight: a drag within its own uncertainty is believed",
        f"{P}physics/flight.py",
        "if k <= 2 * u:",
        "if k <= u:",
        "tests/physics/test_physics_flight.py tests/published/test_flight.py",
    ),
    Fault(
        "bounce: gravity on the wrong side",
        f"{P}physics/bounce_back.py",
        "STANDARD_GRAVITY_M_S2 / (2 * of_fall)",
        "STANDARD_GRAVITY_M_S2 / of_fall",
        "tests/physics/test_bounce_back.py tests/published/test_worked_bounce.py",
    ),
    # statistics
    Fault("shares: mid-P with the whole tail twice", f"{P}statistics/shares.py", "if seen < tail:", "if seen < 2 * tail:", T_SHARES),
    Fault(
        "shares: the open shots widen one end only",
        f"{P}statistics/shares.py",
        "BoundedInterval(at_low.low, at_high.high",
        "BoundedInterval(at_low.low, at_low.high",
        T_SHARES,
    ),
    Fault("next shot: a step exactly is none", f"{P}statistics/next_shot.py", "math.log(step) - 1e-9", "math.log(step) + 1e-9", T_NEXT),
    Fault(
        "next shot: up after one that got through",
        f"{P}statistics/next_shot.py",
        "(-1 if through else 1)",
        "(1 if through else -1)",
        T_NEXT,
    ),
    Fault(
        "next shot: the farthest in place of the next",
        f"{P}statistics/next_shot.py",
        "place = min(further)[1]",
        "place = max(further)[1]",
        T_NEXT,
    ),
    Fault("next shot: 5 % are the same", f"{P}statistics/next_shot.py", "SAME = math.log(1.02)", "SAME = math.log(1.05)", T_NEXT),
    # charts
    Fault(
        "scale: the wrong end is the start",
        f"{P}charts/scale.py",
        "return self.start + (value - self.low)",
        "return self.end + (value - self.low)",
        "tests/charts/test_charts_scale.py",
    ),
    # records: two phones
    Fault(
        "apply: a phone's later word passes for an earlier",
        APPLY,
        "op.device_seq is not None and count < op.device_seq",
        "op.device_seq is not None",
        T_APPLY,
    ),
    Fault(
        "apply: anybody's earlier word passes for one's own", APPLY, "mine = device_id == op.device_id and count", "mine = count", T_APPLY
    ),
    Fault("apply: an empty field is a second opinion", APPLY, " and row[column] is not None and ", " and ", T_APPLY),
    Fault("apply: what was seen counts as said since", APPLY, "Revision.rev > op.base_rev", "Revision.rev >= op.base_rev", T_APPLY),
    Fault(
        "apply: the first word counts and not the last",
        APPLY,
        "        .order_by(Revision.rev)\n    )\n    others",
        "        .order_by(Revision.rev.desc())\n    )\n    others",
        T_APPLY,
    ),
    Fault(
        "apply: an id used for something else gets the old answer",
        APPLY,
        "if body != op.canonical().decode() and not op.is_said_again(body):",
        "if not body:",
        T_APPLY,
    ),
    Fault(
        "apply: a change of nothing is a change",
        APPLY,
        "if row is None or old.get(column) != value:",
        "if row is None or column in old:",
        T_APPLY,
    ),
    Fault(
        "clashes: one who just saw it may not decide",
        f"{P}records/clashes.py",
        "Revision.rev <= op.base_rev",
        "Revision.rev < op.base_rev",
        T_APPLY,
    ),
    Fault(
        "clashes: one decision ends every clash of the record",
        f"{P}records/clashes.py",
        ".where(Clash.field.in_(sorted(names)), Clash.op_id.in_(seen))",
        ".where(Clash.op_id.in_(seen))",
        T_APPLY,
    ),
    Fault("rules: levels two apart are neighbours", RULES, "in (0, 1):", "in (0, 1, 2):", T_APPLY),
    Fault(
        "rules: an old wide pair blocks its note",
        RULES,
        'if row and (row.get("outcome_low"), row.get("outcome_high")) == (low, high):',
        "if row is None and low is high is None:",
        T_APPLY,
    ),
    Fault("rules: one caution opens the day", RULES, "where.ticked < len(trial.CAUTIONS)", "where.ticked < 1", T_APPLY),
    Fault(
        "rules: no reason for an overrule",
        RULES,
        'if whole.get("fair_overrule") and not whole.get("fair_reason"):',
        'if whole.get("fair_overrule") is False:',
        T_APPLY,
    ),
    Fault(
        "labels: another phone's letter is taken",
        f"{P}records/shot_label.py",
        "wrong_letter = bool(of_another and own)",
        "wrong_letter = bool(of_another and own and there)",
        "tests/records/test_shot_label.py",
    ),
    # shots
    Fault("fair: a spoiled shot spoils a spot", FAIR, 'other.hit in ("missed", "spoiled")', 'other.hit == "missed"', T_FAIR),
    Fault(
        "fair: an open outcome counts as the worse one",
        FAIR,
        "if away < min(low, high) - rules.position_accuracy_m:",
        "if away < max(low, high) - rules.position_accuracy_m:",
        f"{T_FAIR} tests/shots/test_hit_neighbours.py",
    ),
    Fault(
        "fair: the edge a finger wider",
        FAIR,
        "if inside < rules.near_edge_m - rules.position_accuracy_m:",
        "if inside < rules.near_edge_m + rules.position_accuracy_m:",
        T_FAIR,
    ),
    Fault("fair: a look after the shot counts before it", FAIR, "and c.at <= fact.loosed_at]", "]", T_FAIR),
    Fault(
        "fair: a dent reaches as far as an opening",
        f"{P}shots/fair_hits.py",
        "near_dented_m=own(trial.near_dented_m, default.near_dented_m)",
        "near_dented_m=own(trial.near_opened_m, default.near_dented_m)",
        T_FAIR,
    ),
    Fault(
        "order: one phone's clock orders another's shots",
        f"{P}shots/fair_hits.py",
        "if a.recorded_by is None or a.recorded_by != b.recorded_by or",
        "if",
        f"{T_FAIR} tests/shots",
    ),
    Fault(
        "at target: causes added in a line",
        f"{P}shots/at_target.py",
        "None if self.missing else math.hypot(*parts)",
        "None if self.missing else sum(parts)",
        "tests/shots/test_at_target.py",
    ),
    # views and caveats
    Fault(
        "bands: the upper edge belongs to the band",
        f"{P}views/axes.py",
        "return self.low_j <= energy_j < self.high_j",
        "return self.low_j < energy_j <= self.high_j",
        f"{T_VIEWS} tests/answers/test_results.py",
    ),
    Fault(
        "bands: a shot near an edge stands clear",
        f"{P}views/axes.py",
        "abs(near - energy.value) < SURE * u",
        "abs(near - energy.value) < u",
        f"{T_VIEWS} tests/answers/test_results.py",
    ),
    Fault(
        "through: the level itself is not through",
        f"{P}views/settings.py",
        "return low >= through.outcome_level, high",
        "return low > through.outcome_level, high",
        T_VIEWS,
    ),
    Fault("through: at least so deep is so deep", f"{P}views/settings.py", 'deep or fact.depth_bound == "at_least"', "deep", T_VIEWS),
    Fault(
        "left out: what nobody can say is fair",
        f"{P}views/counted.py",
        'return None if wanted == "fair_or_not_known" else "not_known"',
        "return None",
        f"{T_VIEWS} tests/answers/test_results.py",
    ),
    Fault("chosen energies: four moves of five are enough", CHOSEN, "FOLLOWED = 0.85", "FOLLOWED = 0.8", T_CAVEATS),
    Fault("chosen energies: five moves are enough", CHOSEN, "len(run) > FEWEST_MOVES]", "len(run) >= FEWEST_MOVES]", T_CAVEATS),
    Fault("chosen energies: three telling shots are enough", CHOSEN, "FEWEST_TELLING = 4", "FEWEST_TELLING = 3", T_CAVEATS),
    Fault("chosen energies: a bow's scatter makes levels", CHOSEN, "ONE_LEVEL = 0.05", "ONE_LEVEL = 0.04", T_CAVEATS),
    # access
    Fault(
        "joining: an archer's seat ends as a viewer's",
        f"{P}access/joining.py",
        'if days is not None and role == "viewer" else None',
        "if days is not None else device.expires_at",
        T_JOIN,
    ),
    Fault(
        "joining: an archer keeps one trial",
        f"{P}access/joining.py",
        'device.trial_id = trial_id if role == "viewer" else None',
        'device.trial_id = trial_id if role == "viewer" else device.trial_id',
        T_JOIN,
    ),
    Fault(
        "joining: an owner keeps a viewer's limits",
        f"{P}access/joining.py",
        "= hash_of(token), None, None",
        "= hash_of(token), device.trial_id, device.expires_at",
        T_JOIN,
    ),
    Fault(
        "limits: one more than most",
        f"{P}access/connections.py",
        "if len(times) >= self._most:",
        "if len(times) > self._most:",
        f"{T_LIMITS} {T_JOIN}",
    ),
    Fault(
        "limits: strangers leave no place for saves",
        f"{P}access/connections.py",
        "self._all >= self._most - leave",
        "self._all >= self._most",
        T_LIMITS,
    ),
    # exchange, book before
    Fault(
        "csv: a formula runs",
        f"{P}exchange/csv_writing.py",
        'return "\'" + text if text.startswith(FORMULA_STARTS)',
        "return text if text.startswith(FORMULA_STARTS)",
        "tests/exchange/test_csv_writing.py",
    ),
    Fault(
        "csv: a quote ends a cell",
        f"{P}exchange/csv_writing.py",
        "text.replace('\"', '\"\"')",
        "text",
        "tests/exchange/test_csv_writing.py",
    ),
    Fault(
        "copies: one of the version before is no copy",
        f"{P}exchange/packed_copy.py",
        "said.get(PHOTOS, said.get(FORMERLY))",
        "said.get(PHOTOS)",
        T_BEFORE,
    ),
    Fault(
        "photos: those of the version before are lost",
        f"{P}exchange/photo_files.py",
        "(self.root, folder / FORMERLY)",
        "(self.root,)",
        T_BEFORE,
    ),
    Fault(
        "0008: clashes keep old words",
        WORDS_0008,
        "[_new_value(noun, field, one) for one in json.loads(both)]",
        "json.loads(both)",
        T_BEFORE,
    ),
    Fault(
        "0008: a look behind keeps its name in the notebook",
        WORDS_0008,
        (
            '    "shot_reading": {"way_in": "entry", "look_behind": "rear_check"},\n    "second_reading": {"way_in": "entry"},\n    '
            '"speed_series": {"pairing": "combination"},'
        ),
        (
            '    "shot_reading": {"way_in": "entry"},\n    "second_reading": {"way_in": "entry"},\n    "speed_series": {"pairing": '
            '"combination"},'
        ),
        T_BEFORE,
    ),
    # wording, and the phone
    Fault(
        "words: every outcome is said twice",
        f"{P}records/trial.py",
        "if high is None or high == low:",
        "if high is None:",
        "tests/records/test_outcomes_in_words.py",
    ),
    Fault(
        "phone: levels two apart are sent",
        "static/js/range/reading_form.js",
        "said.outcome_high - said.outcome_low) > 1",
        "said.outcome_high - said.outcome_low) > 2",
        "tests/browser/test_range_alone.py",
        ("-k", "neighbours"),
    ),
)


def main(words: list[str]) -> int:
    wanted = [fault for fault in FAULTS if not words or any(word in fault.name for word in words)]
    slipped = []
    with tempfile.TemporaryDirectory(prefix="faults-") as work:
        copy = Path(work) / "checkout"
        copy.mkdir()
        for name in COPIED:
            if (REPOSITORY / name).is_dir():
                shutil.copytree(REPOSITORY / name, copy / name, ignore=shutil.ignore_patterns("__pycache__"))
            else:
                shutil.copyfile(REPOSITORY / name, copy / name)
        for tests, more in dict.fromkeys((fault.tests, fault.more) for fault in wanted):
            if _run(copy, tests, more).returncode != 0:
                raise SystemExit(f"{tests} fails with no fault planted, so it would catch anything. Mend that first.")
        for fault in wanted:
            caught = _is_caught(fault, copy)
            print(f"{'caught ' if caught else 'SLIPPED'}  {fault.name}", flush=True)
            slipped += [] if caught else [fault]
    caught_count = len(wanted) - len(slipped)
    print(f"{caught_count} of {len(wanted)} caught.")
    return 0 if caught_count >= FEWEST_CAUGHT * len(wanted) else 1


def _run(copy: Path, tests: str, more: tuple[str, ...]) -> subprocess.CompletedProcess[str]:
    line = [sys.executable, "-m", "pytest", "-q", "-x", "-p", "no:cacheprovider", "--tb=no", *tests.split(), *more]
    environment = {**os.environ, "PYTHONDONTWRITEBYTECODE": "1"}
    return subprocess.run(line, cwd=copy, env=environment, capture_output=True, text=True, timeout=LONGEST_S, check=False)


def _is_caught(fault: Fault, copy: Path) -> bool:
    """Whether a named test fails. Tests that can't even begin (exit code 2 and up) catch nothing: the run ends."""
    path = copy / fault.file
    text = path.read_text(encoding="utf-8")
    if text.count(fault.old) != 1:
        raise SystemExit(f"{fault.name}: its text stands {text.count(fault.old)} times in {fault.file}. Mend the list.")
    path.write_text(text.replace(fault.old, fault.new), encoding="utf-8")
    try:
        done = _run(copy, fault.tests, fault.more)
    except subprocess.TimeoutExpired:
        return True  # a fault that never ends is seen by whoever waits for it
    finally:
        path.write_text(text, encoding="utf-8")
    if done.returncode > 1:
        raise SystemExit(f"{fault.name}: its tests can’t run.\n{done.stdout[-2000:]}{done.stderr[-500:]}")
    return done.returncode == 1


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
