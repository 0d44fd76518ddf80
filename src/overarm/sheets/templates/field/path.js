// Where one is: the checks as a walk along the ground to the line, then the way of the model into the air.

import { svg } from "./dom.js";
import { answersOf, openStops } from "./rules.js";

const WIDE = 360;
const GROUND = 46;

function spot(number, count) {
  const x = 13 + ((number - 1) * (WIDE - 26)) / (count - 1);
  const lift = { 15: 11, 16: 30, 17: 0 }[number] ?? 0;
  return [x, GROUND - lift];
}

function mark(number, answer, current, [x, y]) {
  const parts = [];
  if (current) parts.push(svg("circle", { class: "here", cx: x, cy: y, r: 8.5 }));
  if (answer === "stop") parts.push(svg("rect", { class: "stopped", x: x - 5, y: y - 5, width: 10, height: 10 }));
  else parts.push(svg("circle", { class: answer === "holds" ? "done" : answer ? "left" : "open", cx: x, cy: y, r: 4.2 }));
  return svg("g", {}, ...parts);
}

export function pathPicture(pack, state) {
  const count = pack.checks.length;
  const done = pack.checks.filter((check) => answersOf(state, check.number).answer === "holds").length;
  const stops = openStops(state).length;
  const words = `Check ${state.at} of ${count}; ${done} hold; ${stops ? `${stops} stopped` : "no stop open"}`;
  const [liveX] = spot(pack.live, count);
  const way = [pack.live, pack.throw, pack.climb, count].map((number) => spot(number, count));
  const [from, up, top, down] = way;
  const curve = `M${from} Q${up[0] - 4} ${up[1] + 4} ${up} Q${up[0] + 8} ${top[1] + 2} ${top} Q${down[0]} ${top[1] - 2} ${down}`;
  return svg(
    "svg",
    { viewBox: `0 0 ${WIDE} 62`, role: "img", "aria-label": words, class: "path" },
    svg("line", { class: "ground", x1: 2, x2: WIDE - 2, y1: GROUND + 9, y2: GROUND + 9 }),
    svg("line", { class: "flag", x1: liveX, x2: liveX, y1: 14, y2: GROUND + 9 }),
    svg("text", { class: "flag-word", x: liveX - 4, y: 22, "text-anchor": "end" }, "LIVE"),
    svg("path", { class: "way", d: curve }),
    ...pack.checks.map((check) =>
      mark(check.number, answersOf(state, check.number).answer, check.number === state.at, spot(check.number, count)),
    ),
  );
}
