// The table behind the picture: every instant, when, and where; and from which fields it comes.

function instantsTable(stop) {
  const { line } = stop;
  const rows = line.instants.map((each) => make("tr", {},
    make("th", { scope: "row" }, each.title),
    make("td", { class: "number" }, digits(each.t * 1e3, 2)),
    make("td", { class: "number" }, digits(stop.place(each.t) * 1e3, 1)),
    make("td", {}, each.then)));
  const heads = [["Instant", ""], ["ms", "number"], [line.lost ? "mark, mm" : "metal, mm", "number"], ["From it on", ""]];
  return make("div", { class: "table", tabindex: "0", role: "region", "aria-label": "All instants" }, make("table", {},
    make("thead", {}, make("tr", {}, heads.map(([words, kind]) => make("th", { scope: "col", class: kind }, words)))),
    make("tbody", {}, rows)));
}

/** Fields of the machine's file behind each instant, as written there. */
function sourcesList(stop, sources, drawn) {
  const lines = stop.line.instants.filter((each) => sources[each.stage] && sources[each.stage].length).map((each) => {
    const half = each.stage.startsWith("tooth ") && !drawn ? "half a tooth of way; " : "";
    return make("li", {}, make("strong", {}, `${each.title}: `), half + sources[each.stage].join("; "));
  });
  return make("div", { class: "from" }, make("h3", {}, "Where these numbers come from"),
    make("p", { class: "soft" }, `Places are counted from above the sensor's axis. ${drawn ? "Drawn at random within the limits of these fields." : "The middle of each of these fields."}`),
    make("ul", {}, lines));
}
