"""Time and worth of the settings search.

    python benchmarks/settings.py time       seconds of a whole search of B, by part
    python benchmarks/settings.py peers      CMA-ES with margin against TPE at the same number of trials
    python benchmarks/settings.py examples   A to E: before, after, usual, and a fresh run at another seed
    python benchmarks/settings.py airframes  [--count 30] random airframes against the usual settings

Machines are noisy: compare what was found in one run.
"""

from __future__ import annotations

import argparse
import os
import tempfile
import time
import warnings
from collections.abc import Iterator
from pathlib import Path

import numpy as np

import overarm
from overarm.describe.cards import Setup
from overarm.describe.change import changed
from overarm.describe.derived import derive
from overarm.describe.questions import answers_with
from overarm.describe.starter import setup_text
from overarm.settings.choices import chosen_in, written
from overarm.settings.desk import Desk
from overarm.settings.find import find_settings
from overarm.settings.fresh import fresh
from overarm.settings.result import SettingsResult
from overarm.settings.search import Effort, evolve
from overarm.settings.usual import usual_settings

ROOT = Path(__file__).resolve().parent.parent
CONFIRM_LAUNCHES, CONFIRM_SEED = 20_000, 77_000_001
PEER_SEEDS = (1, 2, 3)
AIRFRAME_SEED = 20

# Random airframes: uniform within these, else as `overarm new` offers. Own choice of ranges.
MASS_KG = (0.45, 2.4)
WING_LOAD_NPM2 = (24.0, 44.0)
ASPECT = (4.2, 7.5)
TAPER = (0.5, 1.0)
WIND_MPS = (1.0, 6.0)
OBSTACLE_M, OBSTACLE_HEIGHT_M = (80.0, 250.0), (3.0, 12.0)
HALF_HAVE_OBSTACLES = 0.5


def never() -> bool:
    """Nobody cancels a benchmark."""
    return False


def load(letter: str) -> Setup:
    return overarm.load(next((ROOT / "examples").glob(f"{letter}-*.yaml")))


def timed(setup: Setup) -> tuple[SettingsResult, float]:
    derived = derive(setup)
    start = time.perf_counter()
    return find_settings(setup, derived), time.perf_counter() - start


def times() -> None:
    setup = load("b")
    derived = derive(setup)
    marks: list[tuple[str, float]] = []
    find_settings(setup, derived, effort=Effort(200, 1, 4, 200), launches=1000)
    start = time.perf_counter()
    find_settings(setup, derived, progress=lambda what, _share: marks.append((what, time.perf_counter())))
    whole = time.perf_counter() - start
    print(f"whole search of B: {whole:.1f} s on {os.cpu_count()} cores")
    for what in dict.fromkeys(name for name, _ in marks):
        at = [when for name, when in marks if name == what]
        print(f"  {what}: {at[-1] - at[0]:.1f} s between its first and last word")


def peers() -> None:
    for letter in "be":
        setup = load(letter)
        for seed in PEER_SEEDS:
            ours = Desk(setup, derive(setup), seed)
            start = time.perf_counter()
            trials = evolve(ours, _starts(setup), Effort(), lambda _what, _share: None)
            spent = time.perf_counter() - start
            theirs = Desk(setup, derive(setup), seed)
            start = time.perf_counter()
            best = tpe(theirs, _starts(setup), len(trials), seed)
            print(
                f"{letter} seed {seed}, {len(trials)} trials: CMA-ES with margin "
                f"{max(t.score for t in trials):.4f} in {spent:.1f} s, TPE {best:.4f} in "
                f"{time.perf_counter() - start:.1f} s"
            )


def _starts(setup: Setup) -> list[dict[str, float]]:
    return [chosen_in(setup), usual_settings(setup, derive(setup))]


def tpe(desk: Desk, starts: list[dict[str, float]], trials: int, seed: int) -> float:
    """Return the best score of optuna's tree-structured Parzen estimator on the same desk and steps."""
    import optuna

    optuna.logging.set_verbosity(optuna.logging.ERROR)
    warnings.simplefilter("ignore")

    def score(trial: optuna.Trial) -> float:
        values = {}
        for choice in desk.choices:
            low, high = desk.ranges[choice.key]
            steps = max(0, round((high - low) / choice.step))
            values[choice.key] = choice.rounded(low + choice.step * trial.suggest_int(choice.key, 0, steps))
        return desk.try_out(values, Effort().launches).score

    study = optuna.create_study(
        direction="maximize", sampler=optuna.samplers.TPESampler(seed=seed, multivariate=True)
    )
    for values in starts:
        begun = desk.start(values)
        study.enqueue_trial(
            {c.key: round((begun[c.key] - desk.ranges[c.key].low) / c.step) for c in desk.choices}
        )
    study.optimize(score, n_trials=trials)
    return float(study.best_value)


def confirmed(setup: Setup, result: SettingsResult) -> str:
    """Return whether a fresh run at another seed lies within the interval that was claimed."""
    if result.after is None:
        return "refused"
    again = fresh(changed(setup, result.changes), CONFIRM_LAUNCHES, CONFIRM_SEED, never).clean
    inside = result.after.low <= again.share <= result.after.high
    overlap = again.low <= result.after.high and result.after.low <= again.high
    word = "inside the claim" if inside else "intervals overlap" if overlap else "OUTSIDE the claim"
    return f"fresh run {100 * again.share:.2f} %: {word}"


def verdict(result: SettingsResult) -> str:
    """Return how the advised settings stand against the usual ones."""
    assert result.usual is not None
    gain = result.usual.gain
    word = "beats" if gain.low > 0.0 else "ties with" if gain.high >= 0.0 else "is behind"
    broken = f", which break {len(result.usual.broken)} limits" if result.usual.broken else ""
    return f"{word} the usual settings{broken} ({100 * gain.share:+.2f} points)"


def examples() -> None:
    for letter in "abcde":
        setup = load(letter)
        result, seconds = timed(setup)
        print(f"{letter}: {100 * result.before.share:.2f} % before, {result.headline}; {seconds:.0f} s")
        if result.refused:
            print(f"   refused: {result.refused}")
        else:
            print(f"   {confirmed(setup, result)}; {verdict(result)}")
            print(f"   {written({c.key: c.value for c in result.settings})}")


def random_setups(count: int) -> Iterator[Setup]:
    """Yield setups of random airframes: flying wings that are thrown, and tractors that spin in the hand."""
    rng = np.random.default_rng(AIRFRAME_SEED)
    with tempfile.TemporaryDirectory() as folder:
        for k in range(count):
            file = Path(folder) / f"random-{k}.yaml"
            file.write_text(setup_text(answers_with(_answers(rng, k))))
            yield changed(overarm.load(file), _more(rng, k))


def _between(rng: np.random.Generator, ends: tuple[float, float]) -> float:
    return float(rng.uniform(*ends))


def _answers(rng: np.random.Generator, k: int) -> dict[str, str]:
    mass, load_npm2 = _between(rng, MASS_KG), _between(rng, WING_LOAD_NPM2)
    area = mass * 9.80665 / load_npm2
    span = (area * _between(rng, ASPECT)) ** 0.5
    taper = _between(rng, TAPER)
    root = 2.0 * area / span / (1.0 + taper)
    wing = k % 3 != 2
    return {
        "style": "throw-started" if wing else "spin-in-hand",
        "name": f"random airframe {k}",
        "layout": "flying wing" if wing else "conventional",
        "mass": f"{mass:.3f} kg",
        "span": f"{span:.3f} m",
        "root_chord": f"{1000 * root:.0f} mm",
        "tip_chord": f"{1000 * root * taper:.0f} mm",
        "wind": f"{_between(rng, WIND_MPS):.1f} m/s",
    }


def _more(rng: np.random.Generator, k: int) -> dict[str, object]:
    changes: dict[str, object] = {}
    if k % 3 != 2:
        changes["airframe.coefficients.moment_zero"] = 0.025  # as a glide test finds it
    distance, height = _between(rng, OBSTACLE_M), _between(rng, OBSTACLE_HEIGHT_M)
    if rng.random() < HALF_HAVE_OBSTACLES:
        changes["site.obstacles"] = (
            {"name": "trees", "distance": f"{distance:.0f} m", "height": f"{height:.0f} m"},
        )
    return changes


def airframes(count: int) -> None:
    told = {"beats": 0, "ties with": 0, "is behind": 0, "refused": 0}
    outside = 0
    for k, setup in enumerate(random_setups(count)):
        result, seconds = timed(setup)
        if result.refused:
            told["refused"] += 1
            print(f"{k}: refused ({'; '.join(result.refused)}); {seconds:.0f} s")
            continue
        said, checked = verdict(result), confirmed(setup, result)
        outside += "OUTSIDE" in checked
        word = next(word for word in told if said.startswith(word))
        told[word] += 1
        print(f"{k}: {result.headline}; {said}; {checked}; {seconds:.0f} s", flush=True)
    print(f"{count} airframes: {told}, {outside} claims outside")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("what", choices=("time", "peers", "examples", "airframes"))
    parser.add_argument("--count", type=int, default=30)
    asked = parser.parse_args()
    if asked.what == "airframes":
        airframes(asked.count)
    else:
        {"time": times, "peers": peers, "examples": examples}[asked.what]()


if __name__ == "__main__":
    main()
