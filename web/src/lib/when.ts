/** Times as they stand in files and on paper: the day by ISO 8601, the hour of this machine's clock. */

const two = (part: number): string => String(part).padStart(2, "0");

/** The day here: "2026-11-26". */
export const day = (at: Date): string => `${at.getFullYear()}-${two(at.getMonth() + 1)}-${two(at.getDate())}`;

/** A moment in UTC as a day and an hour here: "2026-11-26 12:03". */
export function moment(utc: string): string {
  const at = new Date(utc);
  return `${day(at)} ${two(at.getHours())}:${two(at.getMinutes())}`;
}

/** The hour alone, to the second: "12:03:07". */
export function hour(at: number | string): string {
  const time = new Date(at);
  return [time.getHours(), time.getMinutes(), time.getSeconds()].map(two).join(":");
}
