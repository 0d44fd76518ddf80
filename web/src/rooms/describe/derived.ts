/** What follows from a setup, in sentences; the figures are the server's. */
import type { CheckAnswer } from "../../lib/state/setup.svelte";
import { CUT_MPS, SCRATCH_MPS } from "../../lib/launch";
import { listed } from "../../lib/listed";
import type { System } from "../../lib/state/taste.svelte";
import { counted, figure, shown } from "../../lib/units";

export type Good = Extract<CheckAnswer, { good: true }>;
type Derived = Good["derived"];

interface Said {
  title: string;
  sentences: string[];
}

/** Reserves above this are not told apart. */
const PLENTY = 50;
const times = (value: number): string => (value < PLENTY ? `${figure(value, 2)} times` : "far more than");
const rounds = (rpm: number): string => `${counted(Math.round(rpm / 10) * 10)}\u00a0rpm`;
const seconds = (value: number): string => `${value.toFixed(2)}\u00a0s`;

/** The one sentence that stands over the form. */
export function inShort(one: Derived, system: System): string {
  const stall = shown(one.stall_speed_mps, "m/s", system, 2);
  return `It stalls at ${stall}, glides ${figure(one.best_glide_ratio, 2)} to 1 and pulls ${one.thrust_to_weight.toFixed(2)} of its weight.`;
}

function air(one: Derived, system: System): string[] {
  const margin = 100 * one.static_margin_share;
  const trim = (one.trim_elevator_rad * 180) / Math.PI;
  return [
    `It stalls at ${shown(one.stall_speed_mps, "m/s", system, 2)} and glides best at ${shown(one.best_glide_speed_mps, "m/s", system, 2)}, ${figure(one.best_glide_ratio, 2)} far for 1 down.`,
    `The balance point is ${figure(Math.abs(margin), 2)}\u00a0% of the mean chord ${margin < 0 ? "behind" : "ahead of"} the neutral point.`,
    `In trim at 1.3 times the stall speed the trailing edge stands ${figure(Math.abs(trim), 2)}° ${trim > 0 ? "down" : "up"}.`,
  ];
}

function drive(one: Derived, system: System): string[] {
  const at = (match: Derived["full"]): string =>
    `${shown(match.thrust_n, "N", system)} at ${rounds(match.rpm)}, ${figure(match.current_a, 3)}\u00a0A, tips at ${shown(match.tip_speed_mps, "m/s", system)}`;
  return [
    `At the launch ceiling it pulls ${at(one.full)}: ${one.thrust_to_weight.toFixed(2)} of the weight.`,
    `At half throttle it pulls ${at(one.half)}.`,
    `It follows the throttle within ${figure(1000 * one.spool_time_s, 2)}\u00a0ms; one hears ${Math.round(one.blade_pass_full_hz)}\u00a0Hz at the ceiling and ${Math.round(one.blade_pass_half_hz)}\u00a0Hz at half.`,
  ];
}

function reserves(one: Derived): string[] {
  const rolls = Object.entries(one.roll_reserve).map(([speed, ratio]) => `${times(ratio)} at ${speed}\u00a0Vs`);
  return [
    `The surfaces roll against the motor's torque ${listed(rolls)}, Vs being the stall speed.`,
    `At Vs they pitch ${times(one.pitch_reserve)} as hard as the thrust line.`,
  ];
}

function hand(one: Derived, system: System): string[] {
  const reach = one.hand_reach;
  const tilt = one.self_start_tilt_rad;
  return [
    reach
      ? `The hand is out of the disc's reach ${seconds(reach.p50_s)} after release in the middle, ${seconds(reach.p99_s)} in 99 of 100, ${seconds(reach.p999_s)} in 999 of 1000.`
      : "No disc passes a hand.",
    `The tips pass ${shown(SCRATCH_MPS, "m/s", system, 2)} from ${rounds(one.rpm_at_tip_25)} and ${shown(CUT_MPS, "m/s", system, 2)} from ${rounds(one.rpm_at_tip_60)}; ${figure(one.full.energy_j, 2)}\u00a0J turn at the ceiling.`,
    tilt === null ? "No tilt alone starts it." : `Held still it starts by itself at ${Math.round((tilt * 180) / Math.PI)}° nose-up.`,
  ];
}

export function sentences(one: Derived, system: System): Said[] {
  return [
    { title: "In the air", sentences: air(one, system) },
    { title: "The pull", sentences: drive(one, system) },
    { title: "Reserves", sentences: reserves(one) },
    { title: "Beside the disc", sentences: hand(one, system) },
  ];
}
