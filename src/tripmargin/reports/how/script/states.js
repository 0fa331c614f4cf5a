// What each part does at an instant, in words; the keys are those of `Stop.at`.

const windingSaid = (winding) => ({
  holds: say("Winding holds"), dies: say("Winding dies"), "let go": say("Winding let go"),
})[winding];

const windingDoes = (winding) => ({
  holds: sayAs("winding", "holds"), dies: sayAs("winding", "dies"), "let go": sayAs("winding", "let go"),
})[winding];

const plungerDoes = (plunger) => ({
  "held in": sayAs("plunger", "held in"), falls: sayAs("plunger", "falls"), out: sayAs("plunger", "out"),
})[plunger];

const rollsSaid = (rolls) => ({
  turn: say("Rolls turn"), "slow down": say("Rolls slow down"), stand: say("Rolls stand"),
})[rolls];

/** What the piece does where its voltage tells nothing any more. */
function pieceDoes({ through, rolls }) {
  if (through) return say("at the knives");
  return { turn: say("past the sensor"), "slow down": say("piece slows"), stand: say("piece stands") }[rolls];
}

const pawlDoes = (doing, brief) => ({
  "held out": sayAs("pawl", "held out"), swings: sayAs("pawl", "swings"),
  "waits for a tooth": brief ? sayAs("pawl", "waits") : sayAs("pawl", "waits for a tooth"),
  caught: sayAs("pawl", "caught"),
})[doing];

const allPawlsDo = (doing, brief) => ({
  "held out": sayAs("pawls", "held out"), swings: sayAs("pawls", "swing"),
  "waits for a tooth": brief ? sayAs("pawls", "wait") : sayAs("pawls", "wait for a tooth"),
  caught: sayAs("pawls", "caught"),
})[doing];

const onePawlOfSeveral = (pawl, doing) => ({
  "held out": say("{pawl} held", { pawl }), swings: say("{pawl} swings", { pawl }),
  "waits for a tooth": say("{pawl} waits", { pawl }), caught: say("{pawl} caught", { pawl }),
})[doing];

/** What the pawls do: together where they do the same. */
function pawlsDo(state, brief = false) {
  const all = state.pawls.map((each) => each.doing);
  if (!all.every((each) => each === all[0])) return state.pawls.map((each) => onePawlOfSeveral(each.called, each.doing)).join(", ");
  if (!all.length) return "";
  return all.length === 1 ? pawlDoes(all[0], brief) : allPawlsDo(all[0], brief);
}
