/** Which room is open: the path of the address. */

export const ROOMS = [
  { name: "describe", title: "Describe", of: "the aeroplane, the thrower, the day" },
  { name: "odds", title: "Odds", of: "how the launch will go" },
  { name: "settings", title: "Settings", of: "what to enter" },
  { name: "trigger", title: "Trigger", of: "what starts the motor" },
  { name: "plan", title: "Plan", of: "the way out and home" },
  { name: "field", title: "Field", of: "sheet, pack, read-back" },
  { name: "review", title: "Review", of: "what happened" },
  { name: "learn", title: "Learn", of: "what it teaches" },
] as const;

export const SIDE_ROOMS = [
  { name: "logbook", title: "Logbook", of: "everything kept" },
  { name: "rehearsal", title: "Rehearsal", of: "throws with a phone" },
  { name: "compare", title: "Compare", of: "two setups or two days" },
  { name: "jobs", title: "Jobs", of: "what runs and what ran" },
] as const;

export type RoomName = (typeof ROOMS)[number]["name"] | (typeof SIDE_ROOMS)[number]["name"];

const NAMES = [...ROOMS, ...SIDE_ROOMS].map((room) => room.name as string);
const named = (): RoomName => {
  const first = location.pathname.split("/")[1] ?? "";
  return (NAMES.includes(first) ? first : "describe") as RoomName;
};

class Place {
  room = $state<RoomName>(named());

  constructor() {
    addEventListener("popstate", () => (this.room = named()));
  }

  go(room: RoomName): void {
    if (room === this.room) return;
    history.pushState(null, "", `/${room}`);
    this.room = room;
    scrollTo(0, 0);
  }
}

export const place = new Place();
