// What is kept here that bars work with the machine: it is said until a later check has passed.

/** How a daily check ended, as the yard's log reads it: with one answer “no” it did not pass. */
function checkOutcome(values) {
  if (Object.values(values).includes(false)) return "failed";
  return values.tripped === true && values.reset === true ? "passed" : "not finished";
}

/** Whether an entry says that the protection does not work as it should. */
function barsWork({ kind, values }) {
  if (kind === "daily check") return checkOutcome(values) === "failed";
  return kind === "missed metal" || (kind === "trip" && (values.left_m < 0 || values.through === true));
}

/** The newest entry that bars work and that no passed check was kept after; null where none does.
    By the order in which they were kept: a phone's clock may have been set in between. */
function workBarredBy(entries) {
  let found = null;
  for (const each of entries) {
    if (each.left_out) continue;
    if (barsWork(each)) found = each;
    else if (each.kind === "daily check" && checkOutcome(each.values) === "passed") found = null;
  }
  return found;
}

/** What is said first where work is barred, why, and the way on; null where it is not. */
function stopBox(card) {
  const entry = workBarredBy(card.kept.all.entries);
  if (!entry) return null;
  const against = Object.entries(entry.values).filter(([, value]) => value === false);
  return make("section", { class: "stop", role: "alert" },
    make("p", { class: "loud" }, card.data.stop),
    make("p", {}, entryTitle(card, entry)), list(against.map(([key, value]) => valueSaid(card, entry.kind, key, value))),
    make("a", { href: "#wrong", class: "way-on" }, say("What is wrong?")));
}
