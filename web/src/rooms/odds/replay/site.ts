/** Ground with squares, ramp, obstacles, and the wind of the day card. */
import {
  ArrowHelper, BoxGeometry, BufferGeometry, CapsuleGeometry, CylinderGeometry, EdgesGeometry, ExtrudeGeometry,
  Float32BufferAttribute, Group, InstancedMesh, LineBasicMaterial, LineSegments, Matrix4, Mesh, MeshBasicMaterial,
  MeshLambertMaterial, PlaneGeometry, Quaternion, Shape, SphereGeometry, Vector3,
} from "three"; // prettier-ignore
import type { Site } from "../../../lib/launch";
import type { System } from "../../../lib/state/taste.svelte";
import { toSi } from "../../../lib/units";
import { placed, type Inks } from "./frame";

const BESIDE_M = 80;
const MOST_AHEAD_M = 600;
const MOST_TREES = 160;
const ARROW_M = 4;
const LEAST_ARROWS_M = 45;

/** The side of a square on the ground: a round length in the user's unit. */
export const squareOf = (system: System): number => (system === "imperial" ? toSi(30, "ft") : 10);

export function ground(reach: number, inks: Inks, square: number): Group {
  const whole = new Group();
  const far = Math.min(MOST_AHEAD_M, Math.ceil((reach + 60) / square) * square);
  const earth = new Mesh(new PlaneGeometry(4000, 4000), new MeshBasicMaterial({ color: inks.panel }));
  earth.rotation.x = -Math.PI / 2;
  earth.position.y = -0.03;
  const points: number[] = [];
  const stroke = (a: Vector3, b: Vector3): void => void points.push(...a.toArray(), ...b.toArray());
  const [behind, beside] = [3 * square, 8 * square];
  for (let x = -behind; x <= far; x += square) stroke(placed(x, -beside, 0), placed(x, beside, 0));
  for (let y = -beside; y <= beside; y += square) stroke(placed(-behind, y, 0), placed(far, y, 0));
  const lines = new BufferGeometry();
  lines.setAttribute("position", new Float32BufferAttribute(points, 3));
  whole.add(earth, new LineSegments(lines, new LineBasicMaterial({ color: inks.rule, transparent: true, opacity: 0.75 })));
  return whole;
}

/** A post of a ramp. */
function post(a: Vector3, b: Vector3, material: MeshLambertMaterial): Mesh {
  const shape = new CapsuleGeometry(0.02, a.distanceTo(b), 4, 10);
  const limb = new Mesh(shape, material);
  limb.position.copy(a).add(b).multiplyScalar(0.5);
  limb.quaternion.copy(new Quaternion().setFromUnitVectors(new Vector3(0, 1, 0), b.clone().sub(a).normalize()));
  return limb;
}

export function ramp({ length_m: long, angle_rad: angle }: NonNullable<Site["ramp"]>, tall: number, inks: Inks): Group {
  const whole = new Group();
  const material = new MeshLambertMaterial({ color: inks.muted });
  const foot = placed(-long * Math.cos(angle), 0, Math.max(0, tall - long * Math.sin(angle)));
  for (const side of [-0.12, 0.12]) whole.add(post(foot.clone().setX(side), placed(0, side, tall - 0.1), material));
  return whole.add(post(placed(0, 0, 0), placed(0, 0, tall - 0.1), material));
}

export function obstacles(site: Site, inks: Inks): Group {
  const whole = new Group();
  const leaf = new MeshLambertMaterial({ color: inks.leaf, flatShading: true });
  const wall = new MeshLambertMaterial({ color: inks.rule, flatShading: true });
  for (const one of site.around) {
    const corners = one.ahead_m.map((x, i) => [x, one.right_m[i] ?? 0] as const);
    if (one.closed) whole.add(block(corners, one.height_m, wall, inks));
    else if (/house|building|barn|hut|roof|shed|church|hedge|fence|wall|crop|bush|reed/i.test(one.name))
      corners.slice(1).forEach((b, i) => whole.add(screen(corners[i]!, b, one.height_m, wall, inks)));
    else corners.slice(1).forEach((b, i) => whole.add(trees(corners[i]!, b, one.height_m, leaf)));
  }
  return whole;
}

type Spot = readonly [number, number];

/** The part of a wall that is near the launch line. */
function near(a: Spot, b: Spot): [Spot, Spot] {
  const long = Math.hypot(b[0] - a[0], b[1] - a[1]);
  const most = 2.4 * BESIDE_M;
  if (long <= most) return [a, b];
  const middle = [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2] as const;
  const step = [((b[0] - a[0]) / long) * 0.5 * most, ((b[1] - a[1]) / long) * 0.5 * most] as const;
  return [[middle[0] - step[0], middle[1] - step[1]], [middle[0] + step[0], middle[1] + step[1]]];
}

function trees(from: Spot, to: Spot, tall: number, leaf: MeshLambertMaterial): Group {
  const [a, b] = near(from, to);
  const long = Math.hypot(b[0] - a[0], b[1] - a[1]);
  const count = Math.max(1, Math.min(MOST_TREES, Math.round(long / (0.42 * tall))));
  const crown = new SphereGeometry(1, 7, 5);
  crown.scale(0.24 * tall, 0.38 * tall, 0.24 * tall);
  crown.translate(0, 0.62 * tall, 0);
  const trunk = new CylinderGeometry(0.02 * tall, 0.03 * tall, 0.4 * tall, 5);
  trunk.translate(0, 0.2 * tall, 0);
  const rows = [new InstancedMesh(crown, leaf, count), new InstancedMesh(trunk, leaf, count)];
  for (let k = 0; k < count; k++) {
    const part = count === 1 ? 0.5 : k / (count - 1);
    const high = 0.86 + 0.14 * Math.abs(Math.sin(2.7 * k));
    const place = placed(a[0] + part * (b[0] - a[0]), a[1] + part * (b[1] - a[1]), 0);
    const turned = new Matrix4().makeRotationY(k).scale(new Vector3(1, high, 1)).setPosition(place);
    for (const row of rows) row.setMatrixAt(k, turned);
  }
  return new Group().add(...rows);
}

function screen(from: Spot, to: Spot, tall: number, material: MeshLambertMaterial, inks: Inks): Group {
  const [a, b] = near(from, to);
  const box = new BoxGeometry(Math.hypot(b[0] - a[0], b[1] - a[1]) || 1, tall, Math.max(0.4, 0.3 * tall));
  const whole = new Group();
  whole.add(new Mesh(box, material), new LineSegments(new EdgesGeometry(box), new LineBasicMaterial({ color: inks.ink })));
  whole.position.copy(placed((a[0] + b[0]) / 2, (a[1] + b[1]) / 2, tall / 2));
  whole.rotation.y = Math.atan2(b[0] - a[0], b[1] - a[1]);
  return whole;
}

function block(corners: readonly Spot[], tall: number, material: MeshLambertMaterial, inks: Inks): Group {
  const outline = new Shape();
  corners.forEach(([ahead, right], i) => (i ? outline.lineTo(right, ahead) : outline.moveTo(right, ahead)));
  const solid = new ExtrudeGeometry(outline, { depth: tall, bevelEnabled: false });
  solid.rotateX(-Math.PI / 2);
  const whole = new Group();
  whole.add(new Mesh(solid, material), new LineSegments(new EdgesGeometry(solid), new LineBasicMaterial({ color: inks.ink })));
  return whole;
}

/** Arrows with the wind at 10 m, as long as it blows in a second, drawn low so that they are seen. */
export function wind(site: Site, reach: number, inks: Inks): Group {
  const whole = new Group();
  const speed = site.wind_10m_mps;
  if (Math.abs(speed) < 0.1) return whole;
  // The angle says where it comes from; it goes the other way.
  const goes = placed(-Math.cos(site.wind_angle_rad), -Math.sin(site.wind_angle_rad), 0).multiplyScalar(Math.sign(speed));
  const long = Math.max(1.5, Math.abs(speed));
  for (let ahead = 12; ahead < Math.min(Math.max(reach, LEAST_ARROWS_M), 160); ahead += 14)
    for (const right of [-9, 9])
      whole.add(new ArrowHelper(goes, placed(ahead, right, ARROW_M), long, inks.blue, 0.3 * long, 0.14 * long));
  return whole;
}
