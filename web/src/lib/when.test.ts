import { afterEach, expect, it, vi } from "vitest";
import { day, hour, moment } from "./when";

afterEach(() => vi.unstubAllEnvs());

it("is the day and the hour of this machine's clock, not those of UTC", () => {
  // Kiritimati is 14 hours ahead of UTC and has no summer time (IANA time zone database).
  vi.stubEnv("TZ", "Pacific/Kiritimati");
  expect(moment("2026-11-26T12:03:07.000Z")).toBe("2026-11-27 02:03");
  expect(day(new Date("2026-11-26T12:03:07.000Z"))).toBe("2026-11-27");
  expect(hour("2026-11-26T12:03:07.000Z")).toBe("02:03:07");
});
