// The notes of the day as data that a logbook takes in, and how they leave the phone.

import { parsed } from "./numbers.js";
import { answersOf, valueOf } from "./rules.js";
import { look } from "./table.js";

export const FORM = 1;

function evidence(state, check) {
  return check.asks
    .map((ask) => ({ ask, given: String(valueOf(state, check.number, ask)).trim() }))
    .filter(({ given }) => given)
    .map(({ ask, given }) => ({
      what: ask.label,
      value: ask.kind === "number" && parsed(given) !== null ? parsed(given) : given,
      unit: ask.kind === "number" ? ask.unit : "",
    }));
}

function checkNotes(pack, state) {
  return pack.checks.map((check) => {
    const answers = answersOf(state, check.number);
    return {
      number: check.number,
      step: check.step,
      answer: answers.answer || "not answered",
      at_utc: answers.at,
      evidence: evidence(state, check),
      note: answers.note.trim(),
    };
  });
}

// All that was done for one launch.
export function launchNotes(pack, state) {
  const found = look(pack.table, state.today);
  return {
    number: state.number,
    started_utc: state.started_utc,
    today: {
      wind_mps: parsed(state.today.wind),
      gust_mps: parsed(state.today.gust),
      air_c: parsed(state.today.air),
      pack_volts: parsed(state.today.volts),
      word: found.word,
      odds: found.cell ? found.cell.told : "",
    },
    checks: checkNotes(pack, state),
    stops: state.stops,
    live_utc: state.live_utc,
    left_utc: state.left_ms ? new Date(state.left_ms).toISOString() : "",
    climb: state.climb || "not told",
    ended: state.ended || "not told",
    felt: state.felt.trim(),
  };
}

function begun(launch) {
  return launch.checks.some((check) => check.answer !== "not answered" || check.note) || launch.stops.length > 0;
}

export function allLaunches(pack, state) {
  const now = launchNotes(pack, state);
  return begun(now) ? [...state.earlier, now] : state.earlier;
}

function figures({ today }) {
  const told = [
    [today.wind_mps, "wind", "m/s"], [today.gust_mps, "gust", "m/s"], [today.air_c, "air", "°C"], [today.pack_volts, "pack", "V"],
  ].filter(([value]) => value !== null).map(([value, name, unit]) => `${name} ${value} ${unit}`);
  const odds = today.odds ? ` Table: ${today.word}, ${today.odds}.` : "";
  return told.length ? `Today: ${told.join(", ")}.${odds}` : "";
}

// A sentence with its end: rules of the checks have none.
function ended(words) {
  return /[.!?]$/.test(words) ? words : `${words}.`;
}

// One launch in a few sentences: the text of its note in the logbook.
export function launchWords(pack, launch) {
  const lines = [`Field notes, launch ${launch.number}: ${pack.name}.`, figures(launch)];
  const held = launch.checks.filter((check) => check.answer === "holds").length;
  lines.push(`${held} of ${launch.checks.length} checks held.`);
  for (const stop of launch.stops) {
    lines.push(`Stop at check ${stop.check}: ${ended(stop.why)} ${stop.mended_utc ? "Mended." : "Not mended."}`);
  }
  for (const check of launch.checks) if (check.note) lines.push(`Check ${check.number}: ${check.note}`);
  if (launch.live_utc) lines.push(`LIVE at ${launch.live_utc}.`);
  if (launch.left_utc) lines.push(`Left at ${launch.left_utc}; at 3 s: ${launch.climb}. Ended: ${launch.ended}.`);
  if (launch.felt) lines.push(launch.felt);
  return lines.filter(Boolean).join("\n");
}

export function notesData(pack, state) {
  const about = pack.trail.setup_hash;
  const launches = allLaunches(pack, state);
  const notes = launches.map((launch) => ({ text: launchWords(pack, launch), about, written_utc: launch.started_utc }));
  if (state.day_note.trim()) notes.push({ text: state.day_note.trim(), about, written_utc: state.day_utc });
  return {
    overarm_notes: 1,
    overarm_field_notes: FORM,
    pack: { name: pack.name, style: pack.style, ...pack.trail },
    launches,
    notes,
  };
}

export function notesText(pack, state) {
  return `${JSON.stringify(notesData(pack, state), null, 2)}\n`;
}

export function notesName(now) {
  return `field-notes-${new Date(now).toISOString().slice(0, 16).replace(/[-:]/g, "").replace("T", "-")}.json`;
}

export function saveFile(text, name) {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([text], { type: "application/json" }));
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60000);
}

// Put text on the clipboard; where the page may not, select it for the hand to copy. True if it is copied.
export async function copyText(text, area) {
  try {
    await navigator.clipboard.writeText(text);
    return true;
  } catch {
    area.hidden = false;
    area.value = text;
    area.select();
    return document.execCommand("copy");
  }
}

export function shareable(text, name) {
  const file = new File([text], name, { type: "application/json" });
  return navigator.canShare?.({ files: [file] }) ? file : null;
}
