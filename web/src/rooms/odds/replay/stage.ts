/** The replay's picture: draws one moment of a launch, and only when it is asked. */
import {
  AmbientLight, BufferGeometry, DirectionalLight, Float32BufferAttribute, Fog, Group, Line, LineBasicMaterial,
  LineSegments, Mesh, PerspectiveCamera, Scene as Space, Vector3, WebGLRenderer, type Material, type MeshBasicMaterial,
} from "three"; // prettier-ignore
import { columnAt, type Course, type Scene } from "../../../lib/launch";
import { aeroplane, podOf } from "./aeroplane";
import { inksNow, placed } from "./frame";
import { ground, obstacles, ramp, wind } from "./site";
import { Thrower } from "./thrower";

export const VIEWS = ["from the hand", "beside", "behind"] as const;
export type View = (typeof VIEWS)[number];
export const STALK_S = 0.5;

export class Stage {
  #renderer: WebGLRenderer;
  #camera = new PerspectiveCamera(42, 16 / 9, 0.05, 1500);
  #space = new Space();
  #plane = new Group();
  #flown: Line | null = null;
  #first = 0;
  #course: Course;
  #thrower: Thrower | null = null;
  /** How far below the balance point the hand holds. */
  #grip = 0;

  /** Throws if the browser has no WebGL. */
  constructor(canvas: HTMLCanvasElement, scene: Scene, course: Course, square: number) {
    this.#renderer = new WebGLRenderer({ canvas, antialias: true });
    this.#renderer.setPixelRatio(Math.min(devicePixelRatio, 2));
    this.#course = course;
    this.#build(scene, square);
  }

  #build(scene: Scene, square: number): void {
    const inks = inksNow();
    const reach = Math.max(...(this.#course.columns.x_m ?? [0]));
    this.#renderer.setClearColor(inks.paper);
    this.#space.fog = new Fog(inks.paper, 60, 420);
    const sun = new DirectionalLight("#ffffff", 1.9);
    sun.position.set(30, 60, 20);
    this.#plane = aeroplane(scene.airframe, inks);
    const { site, airframe } = scene;
    this.#grip = podOf(airframe);
    if (!site.ramp) this.#thrower = new Thrower(site.release_height_m, inks);
    this.#space.add(
      new AmbientLight("#ffffff", 1.6), sun, ground(reach, inks, square), obstacles(site, inks), wind(site, reach, inks), this.#plane,
      site.ramp ? ramp(site.ramp, site.release_height_m, inks) : this.#thrower!.whole,
    ); // prettier-ignore
    this.#trail(inks.rust, inks.muted);
  }

  /** The path from the moment that it is free: faint ahead, strong behind, with a foot every half second. */
  #trail(strong: string, faint: string): void {
    const { columns, time } = this.#course;
    const free = columns.drag_n?.findIndex((drag) => drag > 0) ?? -1;
    // Where it never gets free it is in the hand to the end.
    this.#first = free < 0 ? time.length : free;
    const points: number[] = [];
    const stalks: number[] = [];
    let next = time[this.#first] ?? 0;
    for (let i = this.#first; i < time.length; i++) {
      const place = this.#place(i);
      points.push(...place.toArray());
      if ((time[i] ?? 0) < next) continue;
      stalks.push(...place.toArray(), place.x, 0, place.z);
      next += STALK_S;
    }
    const shape = (): BufferGeometry => new BufferGeometry().setAttribute("position", new Float32BufferAttribute(points, 3));
    this.#flown = new Line(shape(), new LineBasicMaterial({ color: strong, fog: false }));
    const feet = new BufferGeometry().setAttribute("position", new Float32BufferAttribute(stalks, 3));
    this.#space.add(
      new Line(shape(), new LineBasicMaterial({ color: faint, transparent: true, opacity: 0.5 })),
      new LineSegments(feet, new LineBasicMaterial({ color: strong, transparent: true, opacity: 0.3 })),
      this.#flown,
    );
  }

  #place(i: number): Vector3 {
    const of = (name: string): number => this.#course.columns[name]?.[i] ?? 0;
    return placed(of("x_m"), of("y_m"), of("height_m"));
  }

  size(width: number, height: number): void {
    this.#renderer.setSize(width, height, false);
    this.#camera.aspect = width / height;
    this.#camera.updateProjectionMatrix();
  }

  show(time: number, view: View): void {
    const of = (name: string): number => columnAt(this.#course, name, time);
    const here = placed(of("x_m"), of("y_m"), of("height_m"));
    this.#plane.position.copy(here);
    this.#plane.rotation.set(of("pitch_rad"), -of("heading_rad"), -of("bank_rad"), "YXZ");
    const pane = this.#plane.getObjectByName("pane") as Mesh;
    (pane.material as MeshBasicMaterial).opacity = of("rpm") > 60 ? 0.16 + 0.4 * of("throttle") : 0.05;
    const behind = this.#course.time.findIndex((t) => t > time);
    const drawn = (behind < 0 ? this.#course.time.length : behind) - this.#first;
    this.#flown?.geometry.setDrawRange(0, Math.max(0, drawn));
    this.#hold(time);
    this.#aim(here, view);
    this.#renderer.render(this.#space, this.#camera);
  }

  /** The hand is at the model until that is free, and stays where it let go. */
  #hold(time: number): void {
    const end = this.#course.time[this.#first] ?? Infinity;
    const of = (name: string): number => columnAt(this.#course, name, Math.min(time, end));
    this.#thrower?.hold(of("x_m"), of("y_m"), of("height_m") - this.#grip);
  }

  #aim(here: Vector3, view: View): void {
    const camera = this.#camera;
    camera.fov = view === "from the hand" ? 38 : 42;
    if (view === "from the hand") camera.position.copy(placed(-5.2, 4.6, 2.3));
    else if (view === "beside") camera.position.copy(here).add(placed(-0.8, 3.4, 0.6));
    else camera.position.copy(here).add(placed(-4.2, 0.7, 1.2));
    camera.position.y = Math.max(0.4, camera.position.y);
    camera.lookAt(here);
    camera.updateProjectionMatrix();
  }

  end(): void {
    this.#space.traverse((thing) => {
      if (!(thing instanceof Mesh || thing instanceof Line)) return;
      thing.geometry.dispose();
      for (const one of [thing.material].flat() as Material[]) one.dispose();
    });
    this.#renderer.dispose();
  }
}
