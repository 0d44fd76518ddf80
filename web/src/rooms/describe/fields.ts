/** The fields of a setup: their rules from the cards, what they are called, and in which order they are read. */
import { valueAt } from "../../lib/yaml";

export interface AmountRule {
  dimension: string;
  units: string[];
  unit: string;
  example: string;
  low: number;
  high: number;
  measured: string;
  guessed: string;
  source: string;
}

/** The rule of one key, a part of the JSON Schema of a setup. */
export interface Rule {
  type?: string | string[];
  enum?: (string | number)[];
  description?: string;
  default?: string | number | boolean;
  minimum?: number;
  maximum?: number;
  maxLength?: number;
  maxItems?: number;
  properties?: Record<string, Rule>;
  required?: string[];
  items?: Rule;
  additionalProperties?: unknown;
  "x-amount"?: AmountRule;
  "x-size"?: { example: string };
  "x-file"?: boolean;
}

/** The rule under a path; undefined if the cards have no such key. */
export function ruleAt(schema: Rule, path: string): Rule | undefined {
  return path.split(".").reduce<Rule | undefined>((rule, key) => (/^\d+$/.test(key) ? rule?.items : rule?.properties?.[key]), schema);
}

/** Whether a key must be there where its card is. */
export function isRequired(schema: Rule, path: string): boolean {
  const cut = path.lastIndexOf(".");
  const above = cut < 0 ? schema : ruleAt(schema, path.slice(0, cut));
  return above?.required?.includes(path.slice(cut + 1)) ?? false;
}

/** What stands under a key, or its default, as it would be written. */
export function valueOrDefault(schema: Rule, tree: unknown, path: string): unknown {
  const there = valueAt(tree, path);
  const left = ruleAt(schema, path)?.default;
  return there ?? (left === undefined ? undefined : String(left));
}

const NAMES: Record<string, string> = {
  mass: "All-up mass", kv: "Speed per volt (kv)", drag_zero: "Drag at zero lift", lift_max: "Largest lift", grip_to_disc: "Hand to disc",
  grip_gap: "Gap at the grip", root_chord: "Root chord", tip_chord: "Tip chord", arm: "Arm", bench: "Bench readings",
  position: "Pusher or tractor", place: "Place", throw: "Throw", person: "Who throws", two_person: "Two persons", rpm: "Speed of rotation",
  pull_points: "Pull points", shakes: "Shakes", jerks: "Jerks", pack_volts: "Pack at rest", style: "Launch style", name: "Name",
}; // prettier-ignore

/** What a key is called. */
export function nameOf(path: string): string {
  const key = path.split(".").at(-1) ?? path;
  if (/^airframe\.tail\.(arm|area|span)$/.test(path)) return `Tail ${key}`;
  if (path === "thrower.arm") return "Throwing arm";
  const words = key.replaceAll("_", " ");
  return NAMES[key] ?? words.charAt(0).toUpperCase() + words.slice(1);
}

/** The element's id of a field. */
export const idOf = (path: string): string => `field-${path.replaceAll(".", "-")}`;

export interface Group {
  title: string;
  keys: string[];
}

export interface CardPlan {
  card: string;
  title: string;
  /** What every builder must know; it stands open. */
  first: string[];
  folded: Group[];
}

const under = (card: string, keys: string): string[] => keys.split(" ").map((key) => `${card}.${key}`);

const PLANS: readonly CardPlan[] = [
  {
    card: "airframe",
    title: "The aeroplane",
    first: under("airframe", "layout mass span area root_chord tip_chord sweep balance_point grip_to_disc grip_gap"),
    folded: [
      { title: "Tail and fins", keys: under("airframe.tail", "arm area span fin_area fin_height") },
      { title: "Section and shape", keys: under("airframe", "dihedral twist section section_thickness") },
      { title: "Lift, drag and stability", keys: under("airframe", "neutral_point lift_max drag_zero span_efficiency lift_slope coefficients") },
      { title: "Inertia", keys: under("airframe", "roll_inertia pitch_inertia yaw_inertia") },
      { title: "Control surfaces", keys: under("airframe.surfaces", "travel aileron_travel chord_share span_from span_to trim servo_time servo_rate") },
      {
        title: "Sensor board and attitude control",
        keys: under("airframe.board", "tilt bias offset_forward offset_down rate range noise vibration filter attitude_time trust_band level_error bank_error speed_delay pitch_response roll_response integral_share winds_up_in_hand speed_aided"),
      },
    ],
  },
  {
    card: "power",
    title: "The drive",
    first: under("power", "position propeller propeller_mass cells capacity pack_resistance kv motor_mass rotor_radius motor_resistance no_load_current"),
    folded: [
      { title: "Bench readings", keys: ["power.bench"] },
      { title: "How the motor starts", keys: under("power", "start_delay start_delay_scatter soft_rise dead_band") },
      { title: "Propeller and thrust line", keys: under("power", "turning blades coefficient_table thrust_line_height thrust_line_tilt") },
      { title: "Controller and regulator", keys: under("power", "controller_resistance regulator_floor") },
    ],
  },
  {
    card: "thrower",
    title: "The thrower",
    first: under("thrower", "person arm throw release_speed release_path release_pitch release_height hand_deceleration"),
    folded: [
      { title: "How throws differ", keys: under("thrower", "release_speed_scatter release_path_scatter release_pitch_scatter release_bank release_bank_scatter release_heading release_heading_scatter release_height_scatter tumble_roll tumble_pitch tumble_yaw slip_share slip_loss speed_path_correlation") },
      { title: "Carry, draw-back and stroke", keys: under("thrower", "carry_pitch carry_pitch_scatter carry_time sway sway_rate wind_up wind_up_time stroke") },
      { title: "The hand after release", keys: under("thrower", "hand_deceleration_scatter hand_lag hand_lag_scatter") },
      { title: "Spin in the hand", keys: under("thrower", "two_person hold_time hold_time_scatter shake_travel shake_rate shakes") },
    ],
  },
  {
    card: "line",
    title: "The line",
    first: under("line", "stretch stiffness returned_share friction ramp_length ramp_angle ramp_height"),
    folded: [
      { title: "Pull against stretch", keys: ["line.pull_points"] },
      { title: "Hook and ring", keys: under("line", "hook_forward hook_down hook_limit stuck_share") },
      { title: "Rubber and scatter", keys: under("line", "natural_length line_mass cold_stiffness stretch_scatter returned_share_scatter pitch_scatter bank_scatter") },
    ],
  },
  {
    card: "settings",
    title: "The settings",
    first: under("settings", "jerk_level jerk_dwell start_wait throttle_rise launch_ceiling cruise_ceiling climb_pitch handover_height"),
    folded: [
      { title: "What else guards the start", keys: under("settings", "speed_gate still_time jerk_cue jerks pose_window") },
      { title: "Early pitch and giving up", keys: under("settings", "early_pitch early_speed give_up_time") },
      { title: "After the launch", keys: under("settings", "after_task home_height home_circle_radius") },
    ],
  },
  {
    card: "site",
    title: "The site",
    first: under("site", "place ground obstacles"),
    folded: [
      { title: "On the map", keys: under("site", "launch_point launch_direction obstacle_file height_model") },
      { title: "Ground and rules", keys: under("site", "roughness elevation legal_ceiling") },
    ],
  },
  {
    card: "day",
    title: "The day",
    first: under("day", "wind wind_height wind_angle temperature pack_volts"),
    folded: [{ title: "Gusts, pressure, pack temperature", keys: under("day", "gust_scale pressure pack_temperature") }],
  },
]; // prettier-ignore

/** The cards in the order of the form; a key that no group names is put at the end of its card. */
export function plansOf(schema: Rule): CardPlan[] {
  return PLANS.map((plan) => {
    const named = new Set([plan.first, ...plan.folded.map((group) => group.keys)].flat());
    const all = leaves(schema.properties?.[plan.card], plan.card);
    const there = (keys: string[]): string[] => keys.filter((key) => ruleAt(schema, key));
    const rest = all.filter((key) => ![...named].some((one) => key === one || key.startsWith(`${one}.`)));
    const folded = [...plan.folded.map((group) => ({ ...group, keys: there(group.keys) })), { title: "More", keys: rest }];
    return { ...plan, first: there(plan.first), folded: folded.filter((group) => group.keys.length) };
  });
}

function leaves(rule: Rule | undefined, path: string): string[] {
  if (!rule?.properties) return [path];
  return Object.entries(rule.properties).flatMap(([key, inside]) => leaves(inside, `${path}.${key}`));
}
