// One check at a time: its step, its time, its evidence, its stop rule, and what was answered.

import { button, el, fill, place, say } from "./dom.js";
import { clock } from "./numbers.js";
import { answersOf, barred, checkOf, flaw, openStops, valueOf } from "./rules.js";

function seen(state, number, ask, act) {
  const given = valueOf(state, number, ask);
  return el(
    "fieldset",
    { class: "seen" },
    el("legend", {}, ask.label),
    el("div", { class: "picks" }, ["seen", "not seen"].map((word) => {
      const id = `c${number}-${ask.key}-${word.replace(" ", "-")}`;
      const input = el("input", {
        type: "radio", name: `c${number}-${ask.key}`, id, checked: given === word, onchange: () => act.put(number, ask, word),
      });
      return el("label", { for: id, class: "pick" }, input, el("span", {}, word === "seen" ? "Seen" : "Not seen"));
    })),
  );
}

function typed(state, number, ask, act) {
  const id = `c${number}-${ask.key}`;
  const input = el("input", {
    id, type: "text", inputmode: ask.kind === "number" ? "decimal" : "text", autocomplete: "off",
    "aria-describedby": `${id}-limit ${id}-flaw`, oninput: (event) => act.put(number, ask, event.target.value),
  });
  input.value = valueOf(state, number, ask);
  const limit = ask.limit ? `The sheet asks for ${ask.limit}` : ask.needed ? "" : "If you read it";
  return el(
    "div",
    { class: "figure" },
    el("label", { for: id }, ask.label),
    el("span", { class: "typed" }, input, ask.unit ? el("span", { class: "unit" }, ask.unit) : null),
    el("span", { class: "small", id: `${id}-limit` }, limit),
    el("span", { class: "flaw", id: `${id}-flaw` }),
  );
}

// Tell under each figure what is wrong with it, while it is typed.
export function drawFlaws(pack, state) {
  const check = checkOf(pack, state.at);
  for (const ask of check.asks) {
    const spot = place(`c${check.number}-${ask.key}-flaw`);
    if (!spot) continue;
    const found = flaw(state, check.number, ask);
    const given = String(valueOf(state, check.number, ask)).trim();
    spot.textContent = found?.against ?? (given && found?.missing ? found.missing : "");
  }
}

function timer(check, answers, act) {
  if (!check.wait) return null;
  const now = Date.now();
  const over = answers.ends > 0 && now >= answers.ends;
  return el(
    "div",
    { class: "timer" },
    el("p", { class: "left", id: "left", role: "timer" }, over ? "done" : clock(answers.ends ? (answers.ends - now) / 1000 : check.wait.seconds)),
    button(answers.ends ? "Start again" : check.wait.label, () => act.wait(check), answers.ends ? "" : "main", { id: "wait" }),
  );
}

function stopPanel(state, check, act) {
  const stops = openStops(state).filter((stop) => stop.check === check.number);
  return el(
    "div",
    { class: "stop-panel", role: "group", "aria-labelledby": "stop-word" },
    el("h3", { class: "stop-word", id: "stop-word", tabindex: "-1" }, "STOP"),
    stops.map((stop) => el("p", { class: "why" }, stop.why)),
    el("p", {}, `Do not launch. Nothing goes on past check ${check.number} until this is mended.`),
    button("It is mended: check again", () => act.mend(check.number), "main"),
  );
}

function actions(pack, state, check, act) {
  const bars = barred(pack, state, check.number);
  if (bars.length) {
    return el(
      "div",
      { class: "bars" },
      el("p", {}, el("b", {}, check.number === pack.live ? "LIVE is barred" : "This check waits")),
      el("ul", {}, bars.map((words) => el("li", {}, words))),
      button("Go to the first of them", () => act.first(), "main"),
    );
  }
  const last = check.number === pack.live;
  const lower = check.number < pack.propeller_from;
  return el(
    "div",
    { class: "actions" },
    el("p", { class: "missing", id: "missing", role: "status" }),
    check.number === pack.throw || check.number === pack.climb ? null : button(last ? "LIVE" : "It holds", () => act.hold(check.number), last ? "main live" : "main", { id: "hold" }),
    button("Stop", () => act.stop(check.number), "halt"),
    lower ? button("Leave open, go on", () => act.leave(check.number), "quiet") : null,
  );
}

function note(state, check, act) {
  const area = el("textarea", { id: "note", rows: 2, oninput: (event) => act.note(check.number, event.target.value) });
  area.value = answersOf(state, check.number).note;
  return el("div", { class: "figure" }, el("label", { for: "note" }, `Note on check ${check.number}`), area);
}

export function drawCheck(pack, state, act, special) {
  const check = checkOf(pack, state.at);
  const answers = answersOf(state, check.number);
  const head = [
    el("p", { class: "count" }, `Check ${check.number} of ${pack.checks.length}`),
    el("h2", { id: "step", tabindex: "-1" }, check.step),
    el("p", { class: "evidence" }, check.evidence),
    el("p", { class: "rule" }, el("b", {}, "Stop: "), check.stop),
  ];
  const stopped = openStops(state).some((stop) => stop.check === check.number);
  if (stopped) {
    fill("check", head, stopPanel(state, check, act), note(state, check, act));
    return;
  }
  if (answers.answer === "holds" || answers.answer === "stop") {
    const words = answers.answer === "holds" ? "It holds." : "Stopped: motor off.";
    fill("check", head, el("p", { class: "held" }, words), special,
      note(state, check, act),
      el("div", { class: "actions" },
        button("Go on", () => act.first(), "main"),
        state.live_utc ? null : button("Answer it again", () => act.again(check.number), "quiet")));
    return;
  }
  fill(
    "check",
    head,
    answers.answer === "left open" ? el("p", { class: "held" }, "Left open. LIVE is barred until it is answered.") : null,
    timer(check, answers, act),
    check.asks.map((ask) => (ask.kind === "seen" ? seen : typed)(state, check.number, ask, act)),
    special,
    actions(pack, state, check, act),
    note(state, check, act),
  );
  drawFlaws(pack, state);
}

// Say what is still missing from a check.
export function drawMissing(missing) {
  place("missing").textContent = `Still missing: ${missing.join("; ")}.`;
}

export function drawList(pack, state, act) {
  const WORDS = { holds: "holds", stop: "STOP", "left open": "left open" };
  fill("all", pack.checks.map((check) => {
    const { answer } = answersOf(state, check.number);
    return el("li", {}, button(
      [el("span", { class: "n" }, String(check.number)), el("span", { class: "what" }, check.step),
        el("span", { class: `said ${(answer || "none").replace(" ", "-")}` }, WORDS[answer] ?? "")],
      () => act.show(check.number), "row", { "aria-current": check.number === state.at ? "step" : null }));
  }));
}

// Keep a running time up to date; tell once when it is over.
export function tick(pack, state) {
  const check = checkOf(pack, state.at);
  const answers = answersOf(state, check.number);
  const spot = place("left");
  if (!spot || !check.wait || !answers.ends || spot.textContent === "done") return;
  const left = (answers.ends - Date.now()) / 1000;
  spot.textContent = left > 0 ? clock(left) : "done";
  if (left <= 0) {
    say(`${check.wait.label}: done`, "now");
    navigator.vibrate?.(400);
  }
}

