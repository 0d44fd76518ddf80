// The state of the pack, kept on the phone after every change. A reload or a locked phone loses nothing.

export function keyOf(pack) {
  const { setup_hash, seed, version, date } = pack.trail;
  return ["overarm-field", pack.form, setup_hash, seed, version, date].join(":");
}

export function freshState(pack, now) {
  return {
    form: pack.form,
    number: 1,
    started_utc: new Date(now).toISOString(),
    view: "today",
    at: 1,
    today: { wind: "", gust: "", air: "", volts: "" },
    checks: {},
    stops: [],
    live_utc: "",
    left_ms: 0,
    pull_ms: 0,
    climb: "",
    ended: "",
    felt: "",
    day_note: "",
    day_utc: new Date(now).toISOString(),
    earlier: [],
    theme: "",
  };
}

// A new launch: all checks again. What was kept of the launches before stays.
export function nextLaunch(pack, state, told, now) {
  const { theme, day_note, day_utc } = state;
  return {
    ...freshState(pack, now), theme, day_note, day_utc, view: "checks",
    number: state.number + 1, earlier: [...state.earlier, told],
  };
}

export function loaded(pack, now) {
  try {
    const kept = JSON.parse(localStorage.getItem(keyOf(pack)));
    if (kept && kept.form === pack.form) return { ...freshState(pack, now), ...kept };
  } catch {
    // What cannot be read is as if it were not there; main.js tells if nothing can be kept.
  }
  return freshState(pack, now);
}

// Keep the state; false if the phone does not let us.
export function kept(pack, state) {
  try {
    localStorage.setItem(keyOf(pack), JSON.stringify(state));
    return true;
  } catch {
    return false;
  }
}

export function answersIn(state, number) {
  state.checks[number] ??= { values: {}, note: "", answer: "", at: "", ends: 0 };
  return state.checks[number];
}

export function setValue(state, number, ask, value) {
  if (ask.today) state.today[ask.today] = value;
  else answersIn(state, number).values[ask.key] = value;
}

// Answer a check: "holds", "stop" (with why) or "left open".
export function answer(state, number, word, now, why = []) {
  const answers = answersIn(state, number);
  const when = new Date(now).toISOString();
  answers.answer = word;
  answers.at = when;
  if (word === "stop") state.stops.push({ check: number, why: why.join(" "), at_utc: when, mended_utc: "" });
}

// A stop was mended: the check is asked again from the start, its note stays.
export function mended(state, number, now) {
  for (const stop of state.stops) {
    if (stop.check === number && !stop.mended_utc) stop.mended_utc = new Date(now).toISOString();
  }
  askAgain(state, number);
}

export function askAgain(state, number) {
  const { note } = answersIn(state, number);
  state.checks[number] = { values: {}, note, answer: "", at: "", ends: 0 };
}
