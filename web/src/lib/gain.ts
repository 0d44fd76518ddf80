/** A gain in odds as it is always told: points with their interval. */

interface Difference {
  share: number;
  low: number;
  high: number;
}

function points(share: number, digits: number): string {
  const text = Math.abs(share * 100).toFixed(digits);
  const sign = Number(text) === 0 ? "" : share > 0 ? "+" : "−";
  return sign + text;
}

/** "+19 points (+17 to +20)"; with decimals where the interval is narrower than two points. */
export function gain(one: Difference): string {
  const digits = Math.abs(one.high - one.low) < 0.02 ? 1 : 0;
  const [low, high] = [points(one.low, digits), points(one.high, digits)];
  return `${points(one.share, digits)}\u00a0points (${low} to ${high})`;
}
