/** From the launch frame (ahead, right, up) to that of the drawing: x right, y up, z back. */
import { Vector3 } from "three";

export const placed = (ahead: number, right: number, up: number): Vector3 => new Vector3(right, up, -ahead);

/** The colours of the page, as it is now. */
export interface Inks {
  paper: string;
  panel: string;
  rule: string;
  ink: string;
  rust: string;
  rustPale: string;
  blue: string;
  leaf: string;
  muted: string;
}

export function inksNow(): Inks {
  const style = getComputedStyle(document.documentElement);
  const of = (name: string): string => style.getPropertyValue(`--${name}`).trim();
  return {
    paper: of("paper"), panel: of("panel"), rule: of("rule"), ink: of("ink"), rust: of("rust"),
    rustPale: of("rust-pale"), blue: of("blue"), leaf: of("leaf"), muted: of("muted"),
  }; // prettier-ignore
}
