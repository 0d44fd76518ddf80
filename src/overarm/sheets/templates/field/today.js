// Today: what was measured, the word and the odds for it, what would change it, and the table around it.

import { button, el, fill, place } from "./dom.js";
import { shown, span } from "./numbers.js";
import { cellAt, gustRange, look, dayOf, turns } from "./table.js";

export const FIGURES = [
  ["wind", "Mean wind", "m/s", "at the hand, 2 minutes"],
  ["gust", "Highest gust", "m/s", "in the same 2 minutes"],
  ["air", "Air temperature", "°C", "in the shade"],
  ["volts", "Pack at rest", "V", "whole pack"],
];
const SIGN = { go: "●", change: "◐", stop: "■", "not known": "○" };

export function kindOf(word) {
  return word.replace(" ", "-");
}

export function wordMark(word, look_ = "") {
  return el(
    "span",
    { class: `mark ${kindOf(word)} ${look_}` },
    el("span", { class: "chip" }, el("span", { class: "sign", "aria-hidden": "true" }, SIGN[word]), word),
  );
}

function figure(state, [key, label, unit, hint], onchange) {
  const input = el("input", {
    id: `today-${key}`, type: "text", inputmode: "decimal", autocomplete: "off", "aria-describedby": `hint-${key}`,
    oninput: (event) => onchange(key, event.target.value),
  });
  input.value = state.today[key];
  return el(
    "div",
    { class: "figure" },
    el("label", { for: `today-${key}` }, label),
    el("span", { class: "typed" }, input, el("span", { class: "unit" }, unit)),
    el("span", { class: "small", id: `hint-${key}` }, hint),
  );
}

export function drawFigures(state, onchange) {
  fill("figures", FIGURES.map((item) => figure(state, item, onchange)));
}

function turnsList(table, found) {
  const items = turns(table, found);
  const go = found.word === "go";
  if (!found.at) return null;
  if (!items.length) {
    const words = go
      ? "Nothing next to it is worse."
      : "No other wind, gusts, air or pack alone make it go. Change the setup and make a new pack.";
    return el("p", {}, words);
  }
  return el(
    "div",
    {},
    el("h3", {}, go ? "It is no longer go with" : "It would be go with"),
    el("ul", { class: "turns" }, items.map((item) =>
      el("li", {}, item.words, go ? `: ${item.word}, ${item.odds}` : `: ${item.odds} clean`))),
  );
}

export function drawAnswer(pack, state) {
  const found = look(pack.table, state.today);
  const empty = Object.values(state.today).every((text) => !text.trim());
  fill(
    "answer",
    wordMark(found.word, "large"),
    found.cell ? el("p", { class: "odds" }, el("b", {}, found.cell.odds), ` clean launches`) : null,
    found.cell ? el("p", { class: "small" }, `${found.cell.ends}. Worst corner of the cell, ${pack.table.launches} launches.`) : null,
    empty ? el("p", {}, "Enter today's four figures.") : found.why.map((words) => el("p", {}, words)),
    turnsList(pack.table, found),
  );
  return found;
}

function choice(name, legend, options, chosen, onpick) {
  return el(
    "fieldset",
    { class: "choice" },
    el("legend", {}, legend),
    el("div", { class: "picks" }, options.map((words, k) => {
      const input = el("input", { type: "radio", name, id: `${name}-${k}`, checked: k === chosen, onchange: () => onpick(k) });
      return el("label", { for: `${name}-${k}`, class: "pick" }, input, el("span", {}, words));
    })),
  );
}

function row(table, slice, w, here) {
  const cells = [...Array(table.pack_volts.length - 1).keys()].map((v) => {
    const cell = cellAt(table, { ...slice, w, v });
    const now = here && here.w === w && here.v === v && here.g === slice.g && here.t === slice.t;
    return el(
      "td",
      { class: `cell ${kindOf(cell.word)}${now ? " now" : ""}`, "data-place": [slice.g, w, slice.t, v].join(" ") },
      el("span", { class: "chip" },
        el("span", { class: "sign", "aria-hidden": "true" }, SIGN[cell.word]),
        el("b", {}, cell.word), ` ${cell.odds}`),
      now ? el("span", { class: "chip today" }, "today") : null,
    );
  });
  return el("tr", {}, el("th", { scope: "row" }, `${shown(table.wind_mps[w])} to ${shown(table.wind_mps[w + 1])}`), cells);
}

let slice = null;

// The part of the table that is shown follows today's figures until somebody picks another.
export function followToday(pack, state) {
  const { table } = pack;
  const day = dayOf(state.today);
  const found = look(table, state.today);
  const g = day.wind !== null && day.gust !== null ? Math.max(0, gustRange(table, day.wind, day.gust)) : slice?.g ?? 0;
  const held = table.air_c.findIndex((edge, k) => day.air !== null && day.air >= edge && day.air <= table.air_c[k + 1]);
  slice = { g, t: found.at ? found.at.t : Math.max(0, held >= 0 ? held : slice?.t ?? table.air_c.length - 2) };
}

export function drawTable(pack, state) {
  const { table } = pack;
  if (!slice) followToday(pack, state);
  const here = look(table, state.today).at;
  const pick = (part) => (k) => {
    slice = { ...slice, [part]: k };
    drawTable(pack, state);
    place(`${part === "g" ? "gusts" : "airs"}-${k}`).focus();
  };
  fill(
    "table",
    choice("gusts", "Gusts, against the mean", table.gust_ratio.map((r) => `up to ${shown(r)} times`), slice.g, pick("g")),
    choice("airs", "Air", table.air_c.slice(0, -1).map((c, k) => span(c, table.air_c[k + 1], "°C")), slice.t, pick("t")),
    el("div", { class: "scroll" }, el(
      "table",
      {},
      el("caption", {}, "Down: mean wind at the hand, m/s. Across: pack at rest, V."),
      el("thead", {}, el("tr", {}, el("td", {}),
        table.pack_volts.slice(0, -1).map((volts, v) =>
          el("th", { scope: "col" }, `${volts.toFixed(1)} to ${table.pack_volts[v + 1].toFixed(1)}`)))),
      el("tbody", {}, [...Array(table.wind_mps.length - 1).keys()].map((w) => row(table, slice, w, here))),
    )),
    el("p", { class: "small" }, "Outside the table: not known, and not go."),
  );
}

export function toChecks(go) {
  return button("To the checks", go, "main");
}
