/** How figures of a recording are named and shown; a test holds it to src/overarm/review/shown.py. */
import { fromSi, isUnit, pretty, unitFor } from "../../lib/units";
import type { System } from "../../lib/state/taste.svelte";

/** Name, unit (of lib/units where it is one), and digits behind the point. */
const SHOWN: Record<string, readonly [name: string, unit: string, digits: number]> = {
  board_tilt_rad: ["tilt of the board", "deg", 1],
  force_bias_mps2: ["bias of the forward accelerometer", "m/s2", 2],
  carry_peak_mps2: ["highest cue of the carry", "m/s2", 1],
  stroke_time_s: ["time of the stroke", "s", 2],
  stroke_length_m: ["length of the stroke", "m", 2],
  throw_speed_mps: ["speed at release", "m/s", 1],
  release_path_rad: ["path at release", "deg", 0],
  release_pitch_rad: ["pitch at release", "deg", 0],
  release_bank_rad: ["bank at release", "deg", 0],
  throw_peak_mps2: ["highest cue of the throw", "m/s2", 0],
  longest_above_s: ["time over the level", "s", 2],
  detection_to_release_s: ["detection to release", "s", 2],
  start_wait_s: ["start wait", "s", 2],
  start_delay_s: ["start delay", "s", 2],
  throttle_rise_per_s: ["throttle rise", "%/s", 0],
  throttle_ceiling: ["highest throttle", "%", 0],
  static_thrust_n: ["static thrust", "N", 1],
  thrust_match_after_s: ["release to thrust match", "s", 2],
  low_point_m: ["low point", "m", 1],
  sink_m: ["height lost after release", "m", 1],
  low_speed_ratio: ["least speed ratio", "Vs", 2],
  climb_mps: ["rate of climb", "m/s", 1],
  climb_path_rad: ["path of the climb", "deg", 0],
  handover_after_s: ["release to handover", "s", 1],
  glide_ratio: ["glide ratio", "", 1],
  drag_zero: ["drag at zero lift", "", 3],
  satellite_lag_s: ["lag of the satellite", "s", 2],
  headwind_mps: ["headwind", "m/s", 1],
};

export const EVENTS: Record<string, string> = {
  shake: "shake",
  wind_up: "wind-up",
  stroke: "stroke",
  detection: "detection",
  release: "release",
  clear: "hand clear",
  first_throttle: "first throttle",
  first_spin: "first spin",
  thrust_match: "thrust match",
  low_point: "low point",
  climb: "climb",
  handover: "handover",
  ground: "ground",
};

export const LINKS: Record<string, string> = {
  hand: "clear slack",
  carry: "carry margin",
  cue: "trigger margin",
  race: "speed budget",
  speed: "speed ratio",
  sink: "low point",
  power: "volts",
  roll: "bank",
  climb: "climb",
};

/** Lanes of the strip: name, unit, and the least that each shows in SI. */
export const LANES: Record<string, readonly [name: string, unit: string, least: readonly [number, number]]> = {
  "forward force": ["Felt forward", "m/s2", [0, 0]],
  throttle: ["Throttle", "%", [0, 1.05]],
  airspeed: ["Airspeed", "m/s", [0, 12]],
  "ground speed": ["Ground speed", "m/s", [0, 12]],
  height: ["Height", "m", [0, 4]],
  pitch: ["Pitch", "deg", [0, 0]],
};

export const upper = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);
export const nameOf = (key: string): string => SHOWN[key]?.[0] ?? key;

const inUnit = (value: number, unit: string, system: System): number => (isUnit(unit) ? fromSi(value, unitFor(unit, system)) : value);
const behind = (unit: string, system: System): string => {
  const mine = unitFor(unit, system);
  return mine === "" ? "" : mine === "deg" ? "°" : `\u00a0${pretty(mine)}`;
};
const minus = (text: string): string => (Number(text) === 0 ? text.replace("-", "") : text.replace("-", "−"));

/** A figure without its unit. */
export function number(key: string, value: number, system: System): string {
  const [, unit, digits] = SHOWN[key] ?? ["", "", 2];
  return minus(inUnit(value, unit, system).toFixed(digits));
}

export const withUnit = (key: string, value: number, system: System): string =>
  number(key, value, system) + behind(SHOWN[key]?.[1] ?? "", system);

/** A figure with one standard error, given to one more digit where it would round to nothing. */
export function withError(key: string, value: number, error: number, system: System): string {
  const [, unit, digits] = SHOWN[key] ?? ["", "", 2];
  const wide = inUnit(error, unit, system);
  const text = Number(wide.toFixed(digits)) === 0 && error > 0 ? wide.toFixed(digits + 1) : wide.toFixed(digits);
  return `${number(key, value, system)} ± ${text}${behind(unit, system)}`;
}
