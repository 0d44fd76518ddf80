/** The person who throws: the hand holds the model until it is free, and the body goes with the hand. */
import { CylinderGeometry, Group, Mesh, MeshLambertMaterial, Quaternion, SphereGeometry, Vector3 } from "three";
import { placed, type Inks } from "./frame";

/** The hand lets go this much above the body height. */
const RELEASE_OVER_STATURE = 1.1;
/** Joints and lengths as shares of the body height; ahead, right and up of the point between the feet. */
const HIP = [-0.02, 0, 0.48] as const;
const NECK = [0.03, 0, 0.82] as const;
const SHOULDER = [0.03, 0.08, 0.79] as const;
const OTHER = [[0.03, -0.08, 0.79], [-0.08, -0.12, 0.66], [-0.1, -0.1, 0.53]] as const; // prettier-ignore
const HEAD = [0.05, 0, 0.925] as const;
const [UPPER_ARM, FOREARM] = [0.157, 0.177];
const FRONT_FOOT = 0.14;
/** The rear foot stands where it is, so far behind the place of release. */
const REAR_FOOT = 0.56;
/** The body stands beside the path of the model. */
const LEFT = 0.12;
/** Of the way of the hand the body goes this share. */
const BODY_SHARE = 0.5;
const UP = new Vector3(0, 1, 0);

/** A limb as thick as told, from joint to joint wherever they are. */
class Limb {
  readonly mesh: Mesh;

  constructor(thick: number, material: MeshLambertMaterial) {
    this.mesh = new Mesh(new CylinderGeometry(thick, thick, 1, 10), material);
  }

  put(a: Vector3, b: Vector3): void {
    this.mesh.position.copy(a).add(b).multiplyScalar(0.5);
    this.mesh.scale.y = a.distanceTo(b);
    this.mesh.quaternion.copy(new Quaternion().setFromUnitVectors(UP, b.clone().sub(a).normalize()));
  }
}

/** The elbow of an arm that reaches from shoulder to hand, bent downwards and away from the body. */
export function elbowOf(shoulder: Vector3, hand: Vector3, upper: number, fore: number): Vector3 {
  const way = hand.clone().sub(shoulder);
  const far = Math.min(way.length(), 0.999 * (upper + fore));
  const along = way.normalize();
  const reach = (upper ** 2 - fore ** 2 + far ** 2) / (2 * far);
  const aside = new Vector3(0.6, -1, 0).addScaledVector(along, -new Vector3(0.6, -1, 0).dot(along)).normalize();
  return shoulder.clone().addScaledVector(along, reach).addScaledVector(aside, Math.sqrt(Math.max(0, upper ** 2 - reach ** 2)));
}

export class Thrower {
  readonly whole = new Group();
  #tall: number;
  #limbs: Limb[];
  #joints: Mesh[];

  constructor(releaseHeight: number, inks: Inks) {
    this.#tall = releaseHeight / RELEASE_OVER_STATURE;
    const material = new MeshLambertMaterial({ color: inks.muted });
    // Two legs, the trunk, the other arm in two, the throwing arm in two.
    this.#limbs = [0.038, 0.038, 0.07, 0.03, 0.026, 0.03, 0.026].map((thick) => new Limb(thick * this.#tall, material));
    // Head, hips, both elbows, the fist.
    this.#joints = [0.068, 0.075, 0.032, 0.032, 0.034].map((thick) => new Mesh(new SphereGeometry(thick * this.#tall, 12, 9), material));
    this.whole.add(...this.#limbs.map((one) => one.mesh), ...this.#joints);
  }

  /** Stand so that the hand is at a place: ahead and right of the place of release, and up. */
  hold(ahead: number, right: number, up: number): void {
    const tall = this.#tall;
    const reach = 0.97 * (UPPER_ARM + FOREARM) * tall;
    const side = right - BODY_SHARE * right - (SHOULDER[1] - LEFT) * tall;
    const flat = Math.sqrt(Math.max(0, reach ** 2 - side ** 2 - (up - SHOULDER[2] * tall) ** 2));
    // At the release the arm is stretched; the body follows the hand, and never so far away that it lets go.
    const wish = (1 - BODY_SHARE) * ahead + 0.95 * flat;
    const shoulder = ahead - Math.max(-flat, Math.min(flat, wish));
    const body = shoulder - SHOULDER[0] * tall;
    const at = ([a, r, u]: readonly [number, number, number]): Vector3 => placed(body + a * tall, BODY_SHARE * right + (r - LEFT) * tall, u * tall);
    const [hip, neck, fist, from] = [at(HIP), at(NECK), placed(ahead, right, up), at(SHOULDER)];
    const elbow = elbowOf(from, fist, UPPER_ARM * tall, FOREARM * tall);
    const [other, bent, hanging] = OTHER.map(at) as [Vector3, Vector3, Vector3];
    const rear = placed(-REAR_FOOT * tall, -(LEFT + 0.05) * tall, 0);
    const bones = [[hip, rear], [hip, at([FRONT_FOOT, 0.05, 0])], [hip, neck], [other, bent], [bent, hanging], [from, elbow], [elbow, fist]] as const; // prettier-ignore
    bones.forEach(([a, b], i) => this.#limbs[i]!.put(a, b));
    [at(HEAD), hip, bent, elbow, fist].forEach((place, i) => this.#joints[i]!.position.copy(place));
  }
}
