// The table behind the picture: every instant, when, and where; and from which fields it comes.

function instantsTable(stop) {
  const { line } = stop;
  const rows = line.instants.map((each) => make("tr", {},
    make("th", { scope: "row" }, each.title),
    make("td", { class: "number" }, digits(each.t * 1e3, 2)),
    make("td", { class: "number" }, digits(stop.place(each.t) / (inches ? 0.0254 : 1e-3), inches ? 2 : 1)),
    make("td", {}, each.then)));
  const unit = inches ? sayAs("unit", "in") : "mm", heads = [[say("Instant"), ""], ["ms", "number"],
    [line.lost ? say("mark, {unit}", { unit }) : say("metal, {unit}", { unit }), "number"], [say("From it on"), ""]];
  return make("div", { class: "table", tabindex: "0", role: "region", "aria-label": say("All instants") }, make("table", {},
    make("thead", {}, make("tr", {}, heads.map(([words, kind]) => make("th", { scope: "col", class: kind }, words)))),
    make("tbody", {}, rows)));
}

/** Fields of the machine's file behind each instant, as written there. */
function sourcesList(stop, sources, drawn) {
  const lines = stop.line.instants.filter((each) => sources[each.stage] && sources[each.stage].length).map((each) => {
    const half = each.stage.startsWith("tooth ") && !drawn ? [say("half a tooth of way")] : [];
    return make("li", {}, make("strong", {}, `${each.title}: `), [...half, ...sources[each.stage]].join("; "));
  });
  return make("div", { class: "from" }, make("h3", {}, say("Where these numbers come from")),
    make("p", { class: "soft" }, say("Places are counted from above the sensor's axis."), " ",
      drawn ? say("Drawn at random within the limits of these fields.") : say("The middle of each of these fields.")),
    make("ul", {}, lines));
}
