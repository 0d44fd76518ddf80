/** The motion of this phone by the W3C's DeviceMotion events, as the page gets them. */

export interface Sample {
  timeStamp: number;
  acceleration: Axes;
  accelerationIncludingGravity: Axes;
  rotationRate: { alpha: number | null; beta: number | null; gamma: number | null };
  interval: number;
}

interface Axes {
  x: number | null;
  y: number | null;
  z: number | null;
}

/** Why there is no motion to record. */
export type Lack = "no https" | "no sensors" | "not allowed";

type AskingMotion = typeof DeviceMotionEvent & { requestPermission?: () => Promise<"granted" | "denied"> };
const PATIENCE_MS = 1500;
const NONE: Axes = { x: null, y: null, z: null };

function sampled(event: DeviceMotionEvent): Sample {
  const { timeStamp, interval, acceleration, accelerationIncludingGravity, rotationRate } = event;
  const axes = (one: DeviceMotionEventAcceleration | null): Axes => (one ? { x: one.x, y: one.y, z: one.z } : NONE);
  const turn = rotationRate ?? { alpha: null, beta: null, gamma: null };
  return {
    timeStamp,
    interval,
    acceleration: axes(acceleration),
    accelerationIncludingGravity: axes(accelerationIncludingGravity),
    rotationRate: { alpha: turn.alpha, beta: turn.beta, gamma: turn.gamma },
  };
}

const tells = (sample: Sample): boolean => sample.accelerationIncludingGravity.y !== null || sample.acceleration.y !== null;

/** Begin to listen; called by a touch, because some platforms ask the person then. Returns how to end, or what lacks. */
export async function listen(take: (sample: Sample) => void): Promise<(() => void) | Lack> {
  if (!isSecureContext) return "no https";
  if (typeof DeviceMotionEvent === "undefined") return "no sensors";
  const asking = DeviceMotionEvent as AskingMotion;
  if (asking.requestPermission) {
    const said = await asking.requestPermission().catch(() => "denied");
    if (said !== "granted") return "not allowed";
  }
  return new Promise((done) => {
    let heard = false;
    const hear = (event: DeviceMotionEvent): void => {
      const sample = sampled(event);
      if (!tells(sample)) return;
      if (!heard) {
        heard = true;
        clearTimeout(timer);
        done(end);
      }
      take(sample);
    };
    const end = (): void => removeEventListener("devicemotion", hear);
    const timer = setTimeout(() => {
      end();
      done("no sensors");
    }, PATIENCE_MS);
    addEventListener("devicemotion", hear);
  });
}

/** Samples as the CSV that the reader of phone recordings takes, in the W3C's names. */
export function csvOf(samples: readonly Sample[], label: string, beganUtc: string): string {
  const first = samples[0]?.timeStamp ?? 0;
  const number = (value: number | null): string => (value === null ? "" : value.toFixed(4));
  const heads = ["x", "y", "z"].map((axis) => `acceleration.${axis}`);
  const withGravity = heads.map((head) => head.replace("acceleration", "accelerationIncludingGravity"));
  const turns = ["alpha", "beta", "gamma"].map((axis) => `rotationRate.${axis}`);
  const rows = samples.map(({ timeStamp, acceleration: a, accelerationIncludingGravity: g, rotationRate: r, interval }) =>
    [(timeStamp - first).toFixed(1), ...[a.x, a.y, a.z, g.x, g.y, g.z, r.alpha, r.beta, r.gamma].map(number), interval.toFixed(1)].join(","),
  );
  const top = [`# label: ${label}`, "# recorder: rehearsal of the workbench", `# start_utc: ${beganUtc}`];
  return [...top, ["timeStamp", ...heads, ...withGravity, ...turns, "interval"].join(","), ...rows].join("\n") + "\n";
}
