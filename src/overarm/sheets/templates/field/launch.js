// From LIVE to the ground: the count before a throw under power, the count of three, and how it ended.

import { button, el, place, say } from "./dom.js";
import { answersOf } from "./rules.js";

function pullCount(pack, state, act) {
  if (!pack.pull_s) return null;
  if (!state.pull_ms) return button("Shaken: count aloud", () => act.shaken(), "main");
  return el(
    "div",
    { class: "timer" },
    el("p", { class: "left", id: "pull", role: "timer" }, ""),
    el("p", { class: "why", id: "pull-words" }),
  );
}

const STALE_MIN = 15;

// How long ago the wind was measured, if that is long.
export function windAge(pack, state) {
  const minutes = Math.floor((Date.now() - Date.parse(answersOf(state, 2).at || new Date())) / 60000);
  return minutes < STALE_MIN ? null : el("p", { class: "why" }, `The wind was measured ${minutes} min ago: measure it again.`);
}

export function throwPart(pack, state, act) {
  if (answersOf(state, pack.throw).answer) return null;
  const felt = pack.pull_s ? "Full pull felt, and thrown" : `It has left the ${pack.away}`;
  return el(
    "div",
    {},
    pullCount(pack, state, act),
    pack.pull_s && !state.pull_ms ? null : el("p", { class: "small" }, "The helper taps as it leaves."),
    pack.pull_s && !state.pull_ms ? null : button(felt, () => act.left(), "main live"),
  );
}

export function climbPart(pack, state, act) {
  if (state.climb) {
    return el("p", { class: "held" }, state.climb === "climbing" ? "Climbing by 3 s." : "Not climbing at 3 s: motor off.");
  }
  if (!state.left_ms) return null;
  return el(
    "div",
    { class: "count-three" },
    el("p", { class: "left", id: "three", role: "timer" }, ""),
    el("p", { class: "abort", id: "no-climb", hidden: true }, pack.abort),
    button("It climbs", () => act.climbs(true), "main", { id: "climbs" }),
    button("Not climbing: motor is off", () => act.climbs(false), "halt", { id: "sinks" }),
  );
}

export function endPart(pack, state, act) {
  const list = el("select", { id: "ended", onchange: (event) => act.end(event.target.value) },
    el("option", { value: "" }, "not told"),
    pack.outcomes.map((word) => el("option", { value: word, selected: state.ended === word }, word)));
  const felt = el("textarea", { id: "felt", rows: 2, oninput: (event) => act.felt(event.target.value) });
  felt.value = state.felt;
  return el(
    "div",
    {},
    el("div", { class: "figure" }, el("label", { for: "ended" }, "How did the launch end?"), list),
    el("div", { class: "figure" }, el("label", { for: "felt" }, "How did it feel, before you look at a recording?"), felt),
    answersOf(state, pack.checks.length).answer === "holds"
      ? button("Keep this launch, begin the next", () => act.next(), "main") : null,
  );
}

function tickPull(pack, state) {
  const spot = place("pull");
  if (!spot || !state.pull_ms) return;
  const count = Math.floor((Date.now() - state.pull_ms) / 1000);
  spot.textContent = String(Math.min(count, pack.pull_s));
  if (count >= pack.pull_s && !place("pull-words").textContent) {
    place("pull-words").textContent = "Full pull not felt: DON'T THROW. Motor off at once.";
    say("Full pull not felt: do not throw. Motor off at once.", "now");
  }
}

// Count while it flies; at three seconds say what stands, if nobody saw it climb.
export function tickLaunch(pack, state) {
  tickPull(pack, state);
  const spot = place("three");
  if (!spot || !state.left_ms || state.climb) return;
  const count = Math.floor((Date.now() - state.left_ms) / 1000);
  const words = String(Math.min(count, pack.climb_s));
  if (spot.textContent !== words) {
    spot.textContent = words;
    say(words);
  }
  const bar = place("no-climb");
  if (count >= pack.climb_s && bar.hidden) {
    bar.hidden = false;
    say(pack.abort, "now");
    navigator.vibrate?.([300, 100, 300]);
  }
}
