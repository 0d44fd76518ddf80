// When a check holds, when it stops, and what still bars LIVE. Pure functions of the pack and the state.

import { parsed, shown } from "./numbers.js";
import { look } from "./table.js";

export function checkOf(pack, number) {
  return pack.checks.find((check) => check.number === number);
}

export function answersOf(state, number) {
  return state.checks[number] ?? { values: {}, note: "", answer: "", at: "", ends: 0 };
}

export function valueOf(state, number, ask) {
  return (ask.today ? state.today[ask.today] : answersOf(state, number).values[ask.key]) ?? "";
}

// What is wrong with one piece of evidence: nothing, that it is missing, or that it is against the rule.
export function flaw(state, number, ask) {
  const given = valueOf(state, number, ask);
  if (ask.kind === "seen") {
    if (given === "not seen") return { against: `Not seen: ${ask.label}.` };
    return given === "seen" ? null : { missing: ask.label };
  }
  if (!String(given).trim()) return ask.needed ? { missing: ask.label } : null;
  if (ask.kind === "text") return null;
  const value = parsed(given);
  if (value === null) return { missing: `${ask.label}: a number, such as 3.5` };
  const low = ask.low !== null && value < ask.low;
  if (!low && !(ask.high !== null && value > ask.high)) return null;
  const read = `${ask.label}: ${shown(value, 2)}${ask.unit ? `\u00a0${ask.unit}` : ""}`;
  return { against: `${read}. The sheet asks for ${ask.limit}.` };
}

export function waited(check, answers, now) {
  return !check.wait || (answers.ends > 0 && now >= answers.ends);
}

function byTable(pack, state, number) {
  if (number === 2) {
    const wind = parsed(state.today.wind);
    const gust = parsed(state.today.gust);
    if (wind === null || gust === null) return [];
    if (gust < wind) return ["The highest gust is less than the mean: measure again."];
    const most = pack.table.gust_ratio.at(-1);
    const much = gust - wind > (most - 1) * Math.max(wind, 1) + 1e-9;
    if (pack.no_band) return ["No wind band on the sheet: do not launch."];
    return much ? [`Gustier than the table knows: ${shown(most)} times the mean.`] : [];
  }
  if (number !== 9) return [];
  const found = look(pack.table, state.today);
  return found.word === "go" ? [] : [`The table says ${found.word} for today. ${found.why.join(" ")}`];
}

// What is missing from a check, and what in it is against its rule.
export function weighed(pack, state, number, now) {
  const check = checkOf(pack, number);
  const flaws = check.asks.map((ask) => flaw(state, number, ask)).filter(Boolean);
  const missing = flaws.map((item) => item.missing).filter(Boolean);
  const against = flaws.map((item) => item.against).filter(Boolean);
  const answers = answersOf(state, number);
  if (!waited(check, answers, now)) {
    missing.unshift(answers.ends > now ? `${check.wait.label}: still running` : check.wait.label);
  }
  if (!missing.length) against.push(...byTable(pack, state, number));
  return { missing, against };
}

export function isDone(state, number) {
  return answersOf(state, number).answer === "holds";
}

export function openStops(state) {
  return state.stops.filter((stop) => !stop.mended_utc);
}

// The first check that is neither answered nor left open.
export function nextOpen(pack, state) {
  const found = pack.checks.find((check) => !answersOf(state, check.number).answer);
  return found ? found.number : pack.checks.at(-1).number;
}

// What must be settled before a check may be answered, in words; nothing if it may.
export function barred(pack, state, number) {
  const said = [];
  if (number >= pack.propeller_from) said.push(...pack.stops.map((words) => `The sheet says stop: ${words}`));
  for (const stop of openStops(state)) {
    if (stop.check < number) said.push(`Stop open at check ${stop.check}.`);
  }
  for (const check of pack.checks) {
    if (check.number >= number) break;
    const { answer } = answersOf(state, check.number);
    if (answer === "left open" && number >= pack.propeller_from) said.push(`Check ${check.number} was left open.`);
    if (!answer) said.push(`Check ${check.number} is not answered yet.`);
  }
  return said;
}
