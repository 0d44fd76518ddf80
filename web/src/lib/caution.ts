/** What stands at the foot of every room, and at the head of every printed one. */
export const CAUTION =
  "The tool gives odds from a model; you decide. A propeller cuts and does not let go: it is off the motor until the " +
  "field check says otherwise. Keep people behind you, batteries away from heat and blows, and to the local rules of " +
  "the air; if they ask for a licence or an observer, have them.";
