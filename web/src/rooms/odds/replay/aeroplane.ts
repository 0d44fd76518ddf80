/** A plain model of the aeroplane with the span, chords, sweep and layout of the setup. */
import {
  BufferGeometry, CircleGeometry, ConeGeometry, CylinderGeometry, DoubleSide, EdgesGeometry, Float32BufferAttribute,
  Group, LineBasicMaterial, LineSegments, Mesh, MeshBasicMaterial, MeshLambertMaterial, RingGeometry, SphereGeometry,
} from "three"; // prettier-ignore
import type { Scene } from "../../../lib/launch";
import type { Inks } from "./frame";

type Airframe = Scene["airframe"];
type Point = [number, number, number];

const THICK = 0.1;
const THICKEST_AT = 0.3;

/** A tapered slab between two chords, each given by its leading edge, its chord and which way it is thick. */
function slab(root: Point, rootChord: number, tip: Point, tipChord: number, up: Point): BufferGeometry {
  const ring = ([x, y, z]: Point, chord: number): Point[] => {
    const h = 0.5 * THICK * chord;
    const middle = z + THICKEST_AT * chord;
    return [[x, y, z], [x + up[0] * h, y + up[1] * h, middle], [x, y, z + chord], [x - up[0] * h, y - up[1] * h, middle]];
  };
  const points = [...ring(root, rootChord), ...ring(tip, tipChord)];
  const faces: number[] = [4, 5, 6, 4, 6, 7, 0, 2, 1, 0, 3, 2];
  for (let k = 0; k < 4; k++) {
    const next = (k + 1) % 4;
    faces.push(k, next, k + 4, next, next + 4, k + 4);
  }
  const shape = new BufferGeometry();
  shape.setAttribute("position", new Float32BufferAttribute(points.flat(), 3));
  shape.setIndex(faces);
  const flat = shape.toNonIndexed();
  flat.computeVertexNormals();
  return flat;
}

/** Build the model about its balance point, nose towards -z. */
export function aeroplane(card: Airframe, inks: Inks): Group {
  const whole = new Group();
  const skin = new MeshLambertMaterial({ color: inks.paper, flatShading: true, side: DoubleSide });
  const mark = new MeshLambertMaterial({ color: inks.rust, flatShading: true, side: DoubleSide });
  const edge = new LineBasicMaterial({ color: inks.ink });
  const add = (shape: BufferGeometry, material: MeshLambertMaterial): void => {
    whole.add(new Mesh(shape, material), new LineSegments(new EdgesGeometry(shape, 25), edge));
  };
  const flying = card.layout === "flying wing";
  const half = 0.5 * card.span_m;
  const back = half * Math.tan(card.sweep_rad);
  const rise = half * Math.tan(card.dihedral_rad);
  const nose = -card.balance_m;
  for (const side of [-1, 1])
    add(slab([0, 0, nose], card.root_chord_m, [side * half, rise, nose + back], card.tip_chord_m, [0, 1, 0]), skin);
  const fin = (x: number, y: number, z: number, area: number, height: number): void => {
    const chord = area / Math.max(0.01, height);
    add(slab([x, y - (flying ? 0.3 * height : 0), z], 1.2 * chord, [x, y + (flying ? 0.7 : 1) * height, z + 0.4 * chord], 0.8 * chord, [1, 0, 0]), mark);
  };
  if (flying) for (const side of [-1, 1]) fin(side * half, rise, nose + back, 0.5 * card.fin_area_m2, card.fin_height_m);
  const tailAt = nose + card.tail_x_m;
  if (!flying && card.tail_area_m2 > 0) {
    const chord = card.tail_area_m2 / card.tail_span_m;
    for (const side of [-1, 1])
      add(slab([0, 0, tailAt - 0.25 * chord], 1.1 * chord, [0.5 * side * card.tail_span_m, 0, tailAt - 0.15 * chord], 0.9 * chord, [0, 1, 0]), mark);
    fin(0, 0, tailAt - 0.25 * chord, card.fin_area_m2, card.fin_height_m);
  }
  whole.add(body(card, flying, nose, tailAt, skin, edge), propeller(card, flying, nose, inks));
  return whole;
}

/** Half of the height of the body, m. */
export const podOf = (card: Airframe): number => 0.09 * card.root_chord_m + 0.035;

function body(card: Airframe, flying: boolean, nose: number, tail: number, skin: MeshLambertMaterial, edge: LineBasicMaterial): Group {
  const whole = new Group();
  const wide = podOf(card);
  if (flying) {
    const pod = new SphereGeometry(1, 10, 6);
    pod.scale(wide, wide, 0.55 * card.root_chord_m);
    pod.translate(0, 0, nose + 0.42 * card.root_chord_m);
    whole.add(new Mesh(pod, skin), new LineSegments(new EdgesGeometry(pod, 30), edge));
    return whole;
  }
  const front = nose - 0.75 * card.root_chord_m;
  const long = Math.max(0.2, tail + 0.1 - front);
  const hull = new CylinderGeometry(wide, 0.25 * wide, long, 8);
  hull.rotateX(-Math.PI / 2);
  hull.translate(0, -0.4 * wide, front + 0.5 * long);
  const cap = new ConeGeometry(wide, 1.6 * wide, 8);
  cap.rotateX(-Math.PI / 2);
  cap.translate(0, -0.4 * wide, front - 0.8 * wide);
  for (const shape of [hull, cap]) whole.add(new Mesh(shape, skin), new LineSegments(new EdgesGeometry(shape, 30), edge));
  return whole;
}

function propeller(card: Airframe, flying: boolean, nose: number, inks: Inks): Group {
  const disc = new Group();
  disc.name = "disc";
  const radius = 0.5 * card.propeller_diameter_m;
  const pane = new Mesh(
    new CircleGeometry(radius, 32),
    new MeshBasicMaterial({ color: inks.rust, transparent: true, opacity: 0.28, side: DoubleSide, depthWrite: false }),
  );
  pane.name = "pane";
  const rim = new Mesh(new RingGeometry(0.97 * radius, radius, 32), new MeshBasicMaterial({ color: inks.rust, side: DoubleSide }));
  disc.add(pane, rim);
  const front = flying ? nose - 0.16 * card.root_chord_m : nose - 0.9 * card.root_chord_m;
  disc.position.z = card.pusher ? nose + 1.05 * card.root_chord_m : front;
  return disc;
}
