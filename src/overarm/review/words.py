"""The answer of a review, as a person reads it in ten seconds, and the rest below."""

from __future__ import annotations

from collections.abc import Iterator

from overarm.odds.format import with_interval
from overarm.review.result import LaunchReview, Place, Review
from overarm.review.shown import EVENT_NAMES, LINK_NAMES, SHOWN, number, with_error, with_unit
from overarm.review.untold import ABORTED

NAME_WIDE = 26
MOST_REPAIRS = 12
MOST_TRIALS = 4


def answer(review: Review) -> str:
    """Return the whole answer in lines."""
    head = f"{review.name}: {review.form}, {review.seconds:.0f} s, {counted(review)}"
    lines = [head, *(f"  {said}" for said in review.remarks)]
    for item in review.launches:
        lines += ["", *launch_lines(item)]
    lines += _repair_lines(review)
    if review.sound_lines:
        lines += ["", "sound", *(f"  {line}" for line in review.sound_lines)]
    setup = f"setup {review.setup_hash}" if review.setup_hash else "no setup: limits and odds are not known"
    lines += ["", f"{setup}, recording {review.sha256[:12]}, seed {review.seed}, version {review.version}"]
    return "\n".join(lines)


def counted(review: Review) -> str:
    """Return how many launches, and throws that were broken off, a recording holds."""
    off = sum(item.record.kind == ABORTED for item in review.launches)
    many = len(review.launches) - off
    said = ["no launch" if not many else "1 launch" if many == 1 else f"{many} launches"]
    if off:
        said.append("1 throw that was broken off" if off == 1 else f"{off} throws that were broken off")
    return " and ".join(said)


def title(item: LaunchReview) -> str:
    """Return what stands over a launch."""
    return f"launch {item.record.number}, {item.zero[0]:.1f} s into the record: {item.verdict.outcome}"


def launch_lines(item: LaunchReview) -> list[str]:
    """Return what is said of one launch: verdict, weakest link and advice first."""
    lines = [title(item), f"  {item.verdict.word}: {item.verdict.sentence}"]
    if item.weakest is not None:
        near = "nearest to its limit" if item.verdict.word == "good" else "weakest link"
        lines.append(f"  {near}: {LINK_NAMES[item.weakest.link]}. {item.weakest.sentence}")
    lines.append(f"  change: {item.advice.sentence}")
    lines += list(_differences(item))
    lines += list(_expected(item))
    lines += list(_what_else(item))
    lines.append(f"  events, seconds from {item.zero[1]}")
    lines += [f"    {line}" for line in event_lines(item)]
    lines.append("  estimates, with one standard error")
    lines += [f"    {line}" for line in estimate_lines(item)]
    lines += [f"  note: {said}" for said in item.record.remarks]
    return lines


def _differences(item: LaunchReview) -> Iterator[str]:
    for one in item.as_flown:
        if one.word != "good":
            yield f"  {one.word}: {one.sentence}"
    for margin in item.margins:
        if margin.word != "good" and margin is not item.weakest:
            yield f"  {margin.word}: {margin.sentence}"


def _expected(item: LaunchReview) -> Iterator[str]:
    found = item.prediction
    if found is None:
        return
    used = f", with {' and '.join(one.sentence for one in found.used)}" if found.used else ""
    yield f"  expected: {with_interval(found.clean)} clean{used}"
    off = found.most_off
    good = sum(place.word == "good" for place in found.places)
    yield f"  {good} of {len(found.places)} figures lie within 5 to 95 % of what was to be expected"
    if off is not None:
        yield f"  most off: {off_words(off)}"


def off_words(place: Place) -> str:
    """Return where a figure lies in what was to be expected, in a sentence."""
    name = SHOWN[place.name].name
    low, high = number(place.name, place.p5), with_unit(place.name, place.p95)
    return f"{name} {with_unit(place.name, place.value)}; {low} to {high} was to be expected ({place.word})."


def _what_else(item: LaunchReview) -> Iterator[str]:
    if item.again is not None:
        yield f"  this launch again: {with_interval(item.again.clean)} clean"
        others = [one for one in item.again.others if one.asked or one.difference.clear]
        for one in sorted(others, key=lambda one: (not one.asked, -one.difference.share)):
            yield f"    {one.sentence}"
    for trial in [one for one in item.trials if one.is_card or one.carry_fires][:MOST_TRIALS]:
        yield f"  {trial.sentence}"


def event_lines(item: LaunchReview) -> list[str]:
    """Return the events in the order of time, from release where there is one."""
    events = sorted(item.record.events.items(), key=lambda pair: pair[1].t_s)
    zero, _ = item.zero
    return [
        f"{EVENT_NAMES[name]:<{NAME_WIDE}} {event.t_s - zero:+7.2f} ± {event.error_s:.2f}  {event.method}"
        for name, event in events
    ]


def estimate_lines(item: LaunchReview) -> list[str]:
    """Return every estimate with its error, or why it cannot be told, and its place in the prediction."""
    places = {} if item.prediction is None else {place.name: place for place in item.prediction.places}
    lines = []
    for name, one in item.estimates.items():
        said = one.why_not
        if one.value is not None:
            bound = f"{one.bound} " if one.bound else ""
            said = f"{bound}{with_error(name, one.value, one.error)}"
            if name in places:
                said += f"  (expected {number(name, places[name].p5)} to {number(name, places[name].p95)}"
                said += f", {places[name].word})"
        lines.append(
            f"{SHOWN[name].name:<{NAME_WIDE}} {said if one.value is not None else 'not known: ' + said}"
        )
    return lines


def _repair_lines(review: Review) -> list[str]:
    if not review.repairs:
        return ["", "repairs: none; the recording had no defect that is looked for"]
    shown = review.repairs[:MOST_REPAIRS]
    lines = ["", "repairs", *(f"  {repair.word}: {repair.sentence}" for repair in shown)]
    more = len(review.repairs) - MOST_REPAIRS
    return [*lines, f"  and {more} more, in --json and the report"] if more > 0 else lines
