/** How odds are written: whole percent between 1 and 99, unless the launches back more; as src/overarm/odds/format.py. */

export interface Odds {
  share: number;
  low: number;
  high: number;
}

/** A share in whole percent, kept within 1 and 99. */
export const wholePercent = (share: number): number => Math.min(99, Math.max(1, Math.round(100 * share)));

/** The share, such as "91 %", ">99 %" or "<1 %". */
export function oddsShare(odds: Odds): string {
  if (odds.low > 0.99) return ">99\u00a0%";
  if (odds.high < 0.01) return "<1\u00a0%";
  return `${wholePercent(odds.share)}\u00a0%`;
}

/** Its 95 % interval, such as "84 to 95", "at least 99.4" or "give or take less than 1". */
export function oddsEnds(odds: Odds): string {
  if (odds.low > 0.99) return `at least ${(Math.floor(1000 * odds.low) / 10).toFixed(1)}`;
  if (odds.high < 0.01) return `at most ${(Math.ceil(1000 * odds.high) / 10).toFixed(1)}`;
  const [low, high] = [wholePercent(odds.low), wholePercent(odds.high)];
  return low === high ? "give or take less than 1" : `${low} to ${high}`;
}

/** Both, such as "91 % (84 to 95)". */
export const oddsWords = (odds: Odds): string => `${oddsShare(odds)} (${oddsEnds(odds)})`;
