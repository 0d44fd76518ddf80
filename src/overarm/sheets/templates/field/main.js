// The page put together: it draws from the state, and every act changes the state, keeps it, and draws again.

import { drawCheck, drawFlaws, drawList, drawMissing, tick } from "./checks.js";
import { button, el, fill, place, say } from "./dom.js";
import { climbPart, endPart, throwPart, tickLaunch, windAge } from "./launch.js";
import { allLaunches, copyText, launchNotes, launchWords, notesName, notesText, saveFile, shareable } from "./notes.js";
import { timeOfDay } from "./numbers.js";
import { pathPicture } from "./path.js";
import { answersOf, checkOf, isDone, nextOpen, openStops, weighed } from "./rules.js";
import { answer, answersIn, askAgain, freshState, kept, loaded, mended, nextLaunch, setValue } from "./store.js";
import { drawAnswer, drawFigures, drawTable, followToday, toChecks, wordMark } from "./today.js";

const VIEWS = ["today", "checks", "sheet", "notes"];
const pack = JSON.parse(place("pack").textContent);
let state = loaded(pack, Date.now());

function keep() {
  place("not-kept").hidden = kept(pack, state);
}

function caution() {
  if (state.at < pack.propeller_from) return pack.propeller_off;
  if (state.at < pack.live) return "It can start at any time. Nobody near or behind the disc.";
  if (state.at < pack.checks.length) return pack.abort;
  return "Motor off. Wait until the propeller stands still.";
}

function drawFrame() {
  for (const view of VIEWS) {
    place(`view-${view}`).dataset.shown = String(view === state.view);
    place(`go-${view}`).setAttribute("aria-current", view === state.view ? "page" : "false");
  }
  fill("path", pathPicture(pack, state));
  place("caution").textContent = caution();
  place("caution").className = state.at >= pack.live && state.at < pack.checks.length ? "caution loud" : "caution";
  place("launch-number").textContent = `Launch ${state.number}`;
  const stops = openStops(state);
  place("open-stop").hidden = !stops.length;
  place("open-stop").textContent = stops.length ? `STOP open: check ${stops.map((stop) => stop.check).join(", ")}` : "";
  if (state.theme) document.documentElement.dataset.theme = state.theme;
  else delete document.documentElement.dataset.theme;
}

function special() {
  const parts = { [pack.live]: windAge, [pack.throw]: throwPart, [pack.climb]: climbPart, [pack.checks.length]: endPart };
  return parts[state.at]?.(pack, state, act) ?? null;
}

function drawNotes() {
  fill("launches", allLaunches(pack, state).map((launch) =>
    el("li", {}, launchWords(pack, launch).split("\n").slice(1).map((words) => el("p", {}, words)))));
  place("day-note").value = state.day_note;
  place("share").hidden = !shareable(notesText(pack, state), notesName(Date.now()));
}

function drawChecks() {
  drawCheck(pack, state, act, special());
  drawList(pack, state, act);
}

function draw() {
  keep();
  drawFrame();
  drawChecks();
  drawAnswer(pack, state);
  drawTable(pack, state);
  drawNotes();
  const time = place("started");
  time.textContent = `begun ${timeOfDay(state.started_utc)}`;
}

function onStep() {
  window.scrollTo(0, 0);
  const stopped = openStops(state).some((stop) => stop.check === state.at);
  place(stopped ? "stop-word" : "step").focus({ preventScroll: true });
}

// Today's figures changed: a check that held by them is weighed again.
function weighAgain() {
  for (const number of [2, 9]) {
    if (!isDone(state, number) || state.live_utc) continue;
    const { missing, against } = weighed(pack, state, number, Date.now());
    if (against.length) answer(state, number, "stop", Date.now(), against);
    else if (missing.length) askAgain(state, number);
  }
}

function putToday(key, text) {
  state.today[key] = text;
  weighAgain();
  followToday(pack, state);
  keep();
  drawFrame();
  drawAnswer(pack, state);
  drawTable(pack, state);
  drawChecks();
  drawNotes();
}

function stopNow(number, why) {
  answer(state, number, "stop", Date.now(), why);
  draw();
  say(`STOP. ${why.join(" ")}`, "now");
  onStep();
}

function goOn() {
  state.at = nextOpen(pack, state);
  draw();
  onStep();
}

const act = {
  put(number, ask, value) {
    setValue(state, number, ask, value);
    keep();
    drawFlaws(pack, state);
    if (!ask.today) return;
    weighAgain();
    followToday(pack, state);
    drawFrame();
    drawFigures(state, putToday);
    drawAnswer(pack, state);
    drawTable(pack, state);
  },
  note(number, text) {
    answersIn(state, number).note = text;
    keep();
    drawNotes();
  },
  wait(check) {
    answersIn(state, check.number).ends = Date.now() + check.wait.seconds * 1000;
    draw();
    place("wait").focus();
  },
  hold(number) {
    const { missing, against } = weighed(pack, state, number, Date.now());
    if (against.length) {
      stopNow(number, against);
      return;
    }
    if (missing.length) {
      drawMissing(missing);
      return;
    }
    answer(state, number, "holds", Date.now());
    if (number === pack.live) state.live_utc = new Date(Date.now()).toISOString();
    goOn();
  },
  stop(number) {
    stopNow(number, [checkOf(pack, number).stop]);
  },
  leave(number) {
    answer(state, number, "left open", Date.now());
    goOn();
  },
  mend(number) {
    mended(state, number, Date.now());
    if (number >= pack.live) {
      for (const other of [pack.live, pack.throw, pack.climb]) askAgain(state, other);
      Object.assign(state, { live_utc: "", left_ms: 0, pull_ms: 0, climb: "", at: pack.live });
    }
    draw();
    onStep();
  },
  again(number) {
    askAgain(state, number);
    draw();
    onStep();
  },
  first() {
    const [stop] = openStops(state);
    const left = pack.checks.find((check) => answersOf(state, check.number).answer === "left open");
    const open = nextOpen(pack, state);
    const late = open >= pack.propeller_from;
    state.at = stop ? stop.check : late && left ? left.number : open;
    if (late && pack.stops.length && !stop && !left) {
      act.view("sheet");
      return;
    }
    draw();
    onStep();
  },
  show(number) {
    state.at = number;
    draw();
    onStep();
  },
  shaken() {
    state.pull_ms = Date.now();
    draw();
  },
  left() {
    const { missing, against } = weighed(pack, state, pack.throw, Date.now());
    if (against.length) {
      stopNow(pack.throw, against);
      return;
    }
    if (missing.length) {
      drawMissing(missing);
      return;
    }
    state.left_ms = Date.now();
    answer(state, pack.throw, "holds", Date.now());
    state.at = pack.climb;
    draw();
    place("climbs").focus();
  },
  climbs(does) {
    state.climb = does ? "climbing" : "not climbing";
    answer(state, pack.climb, does ? "holds" : "stop", Date.now(), [checkOf(pack, pack.climb).stop]);
    if (!does) state.stops.at(-1).mended_utc = new Date(Date.now()).toISOString();
    goOn();
  },
  end(word) {
    state.ended = word;
    keep();
    drawNotes();
  },
  felt(text) {
    state.felt = text;
    keep();
    drawNotes();
  },
  next() {
    state = nextLaunch(pack, state, launchNotes(pack, state), Date.now());
    drawFigures(state, putToday);
    draw();
    onStep();
    say(`Launch ${state.number}: all checks again`, "now");
  },
  view(name) {
    state.view = name;
    draw();
    window.scrollTo(0, 0);
    place(`title-${name}`).focus();
  },
};

async function onCopy() {
  const done = await copyText(notesText(pack, state), place("copied-text"));
  place("gone").textContent = done ? "Copied." : "Select the text below and copy it.";
}

function onShare() {
  const file = shareable(notesText(pack, state), notesName(Date.now()));
  if (file) navigator.share({ files: [file], title: "Field notes" }).catch(() => {});
}

function wire() {
  for (const view of VIEWS) place(`go-${view}`).addEventListener("click", () => act.view(view));
  place("save").addEventListener("click", () => {
    const name = notesName(Date.now());
    saveFile(notesText(pack, state), name);
    place("gone").textContent = `Saved as ${name}.`;
  });
  place("copy").addEventListener("click", onCopy);
  place("share").addEventListener("click", onShare);
  place("theme").addEventListener("click", () => {
    const dark = getComputedStyle(document.documentElement).getPropertyValue("--dark").trim() === "1";
    state.theme = dark ? "light" : "dark";
    draw();
  });
  place("day-note").addEventListener("input", (event) => {
    state.day_note = event.target.value;
    keep();
  });
  const dialog = place("sure");
  place("over").addEventListener("click", () => dialog.showModal());
  place("over-no").addEventListener("click", () => dialog.close());
  place("over-yes").addEventListener("click", () => {
    dialog.close();
    state = { ...freshState(pack, Date.now()), theme: state.theme };
    drawFigures(state, putToday);
    draw();
    say("Started over", "now");
  });
}

function begin() {
  fill("to-checks", toChecks(() => act.view("checks")));
  if (pack.stops.length) {
    fill("sheet-stop", wordMark("stop"), pack.stops.map((words) => el("p", {}, words)),
      el("p", {}, "Mend this first and make a new pack: LIVE stays barred."),
      button("See the sheet", () => act.view("sheet"), "quiet"));
    place("sheet-stop").hidden = false;
  }
  wire();
  drawFigures(state, putToday);
  draw();
  setInterval(() => {
    tick(pack, state);
    tickLaunch(pack, state);
  }, 200);
}

begin();
