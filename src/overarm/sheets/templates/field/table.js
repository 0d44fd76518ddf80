// Look today up in the table of go, change and stop. What is outside the table is not known, and never go.

import { parsed, shown, span } from "./numbers.js";

export const RANK = { go: 0, change: 1, stop: 2, "not known": 3 };
const SLACK = 1e-9;

// The cells that hold a value: two where it lies on an edge, none outside.
function bins(edges, value) {
  const found = [];
  for (let k = 0; k + 1 < edges.length; k += 1) {
    if (value >= edges[k] - SLACK && value <= edges[k + 1] + SLACK) found.push(k);
  }
  return found;
}

export function cellAt(table, { g, w, t, v }) {
  const sizes = [table.wind_mps.length - 1, table.air_c.length - 1, table.pack_volts.length - 1];
  return table.cells[((g * sizes[0] + w) * sizes[1] + t) * sizes[2] + v];
}

// The first of the gust ranges that holds today's; -1 if it is gustier than the table knows.
export function gustRange(table, wind, gust) {
  return table.gust_ratio.findIndex((ratio) => gust - wind <= (ratio - 1) * Math.max(wind, 1) + SLACK);
}

function unknown(why) {
  return { word: "not known", why: [why], cell: null, at: null };
}

function outside(table, day) {
  const ends = [
    ["wind", day.wind, table.wind_mps, "m/s"],
    ["air", day.air, table.air_c, "°C"],
    ["pack", day.volts, table.pack_volts, "V"],
  ];
  return ends
    .filter(([, value, edges]) => !bins(edges, value).length)
    .map(([name, , edges, unit]) => `The table knows ${name} of ${span(edges[0], edges.at(-1), unit)}.`);
}

// A place on an edge belongs to both cells; each holds for it, so the better one does.
function places(table, day, g) {
  const found = [];
  for (const w of bins(table.wind_mps, day.wind)) {
    for (const t of bins(table.air_c, day.air)) {
      for (const v of bins(table.pack_volts, day.volts)) found.push({ g, w, t, v });
    }
  }
  return found;
}

export function dayOf(today) {
  return Object.fromEntries(["wind", "gust", "air", "volts"].map((key) => [key, parsed(today[key])]));
}

export function look(table, today) {
  const day = dayOf(today);
  if (day.wind !== null && day.wind < 0) {
    return { word: "stop", why: ["A tailwind: wait, or turn the launch line."], cell: null, at: null };
  }
  if (Object.values(day).includes(null)) return unknown("Enter wind, gust, air and pack.");
  if (day.gust < day.wind) return unknown("The highest gust is less than the mean: measure again.");
  const beyond = outside(table, day);
  if (beyond.length) return { ...unknown(""), why: beyond };
  const g = gustRange(table, day.wind, day.gust);
  if (g < 0) return unknown(`Gustier than the table knows: ${shown(table.gust_ratio.at(-1))} times the mean.`);
  const better = (a, b) => RANK[a.cell.word] - RANK[b.cell.word] || b.cell.share - a.cell.share;
  const [best] = places(table, day, g).map((at) => ({ at, cell: cellAt(table, at) })).sort(better);
  return { word: best.cell.word, why: best.cell.why, cell: best.cell, at: best.at };
}

function axes(table) {
  return [
    ["w", table.wind_mps.length - 1, (k) => `wind of ${span(table.wind_mps[k], table.wind_mps[k + 1], "m/s")}`],
    ["g", table.gust_ratio.length, (k) => `gusts up to ${shown(table.gust_ratio[k])} times the mean`],
    ["t", table.air_c.length - 1, (k) => `air of ${span(table.air_c[k], table.air_c[k + 1], "°C")}`],
    ["v", table.pack_volts.length - 1, (k) => `a pack of ${span(table.pack_volts[k], table.pack_volts[k + 1], "V")}`],
  ];
}

// What would change the word, one thing at a time: the nearest cell that is better, or next to a go, worse.
export function turns(table, found) {
  if (!found.at) return [];
  const go = found.word === "go";
  const said = [];
  for (const [key, count, words] of axes(table)) {
    const others = [...Array(count).keys()]
      .filter((k) => k !== found.at[key])
      .map((k) => ({ k, far: Math.abs(k - found.at[key]), cell: cellAt(table, { ...found.at, [key]: k }) }))
      .filter(({ far, cell }) => (go ? far === 1 && cell.word !== "go" : cell.word === "go"))
      .sort((a, b) => a.far - b.far);
    for (const { k, cell } of go ? others : others.slice(0, 1)) {
      said.push({ words: words(k), word: cell.word, odds: cell.odds });
    }
  }
  return said;
}
