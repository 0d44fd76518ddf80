/** Scales of pictures: numbers to places, and round numbers for ticks. */

export type Scale = ((value: number) => number) & { low: number; high: number };

/** A straight scale from [low, high] to [from, to]; a scale without width is opened by one. */
export function scale(low: number, high: number, from: number, to: number): Scale {
  const end = high === low ? low + 1 : high;
  return Object.assign((value: number) => from + ((value - low) / (end - low)) * (to - from), { low, high: end });
}

/** Round numbers between low and high, about as many as wanted. */
export function ticks(low: number, high: number, wanted = 5): number[] {
  const span = high - low;
  if (!(span > 0)) return [low];
  const rough = span / wanted;
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = ([1, 2, 2.5, 5, 10].find((one) => one * power >= rough) ?? 10) * power;
  const found: number[] = [];
  for (let i = Math.ceil(low / step - 1e-9); i * step <= high + step * 1e-9; i++) found.push(Number((i * step).toPrecision(12)));
  return found;
}

/** Points as the path of an SVG; a gap where a value is not a number. */
export function line(xs: readonly number[], ys: readonly number[], x: Scale, y: Scale): string {
  let path = "";
  let pen = "M";
  for (let i = 0; i < xs.length; i++) {
    const [across, up] = [xs[i] ?? NaN, ys[i] ?? NaN];
    if (Number.isFinite(across) && Number.isFinite(up)) {
      path += `${pen}${x(across).toFixed(1)} ${y(up).toFixed(1)}`;
      pen = "L";
    } else pen = "M";
  }
  return path;
}

/** The part of a sorted list that lies below a share of it (type 7 of Hyndman and Fan, 1996). */
export function quantile(sorted: readonly number[], share: number): number {
  const place = (sorted.length - 1) * share;
  const [low, high] = [Math.floor(place), Math.ceil(place)];
  const [a = NaN, b = NaN] = [sorted[low], sorted[high]];
  return a + (b - a) * (place - low);
}
