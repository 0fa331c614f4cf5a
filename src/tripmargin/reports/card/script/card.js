// The card: which page is shown, and what all pages share.

class Card {
  constructor(data, root) {
    this.data = data;
    this.us = data.us;
    this.root = root;
    this.kept = new Kept(data.machine, storeHere());
    this.pages = {
      "": homePage, wrong: faultsPage, kept: keptPage, stop: protectionPage,
      ...(data.pawls ? { pawls: pawlPage } : {}),
    };
    addEventListener("hashchange", () => {
      if (this.page === root.dataset.page) return; // `go` has drawn it
      this.draw();
      scrollTo(0, 0);
    });
    this.draw();
  }

  change(how) {
    const kept = this.kept.change(how);
    this.warn();
    return kept;
  }

  keep(kind, values, note) {
    const kept = this.kept.add(kind, values, note);
    this.warn();
    return kept;
  }

  /** What was begun on a page; null takes it away. */
  remember(name, state) {
    this.change((all) => { if (state === null) delete all.states[name]; else all.states[name] = state; });
  }

  recall(name) { return this.kept.all.states[name] || null; }

  /** The page that the address names. */
  get page() {
    try { return decodeURIComponent(location.hash.slice(1)); } catch { return ""; }
  }

  go(page) {
    location.hash = page;
    this.draw();
    scrollTo(0, 0);
  }

  draw() {
    const { page, root } = this;
    document.documentElement.classList.toggle("sun", this.kept.all.sun);
    root.replaceChildren();
    this.warning = make("p", { class: "notice", role: "alert", hidden: true });
    put(root, this.warning);
    this.warn();
    if (page) put(root, make("p", { class: "back" }, make("a", { href: "#" }, say("All of {machine}", { machine: this.data.machine }))));
    if (page.startsWith("log ")) {
      const kind = page.slice(4);
      if (this.data.forms[kind]) formPage(root, this, kind);
      else homePage(root, this);
    } else (this.pages[page] || homePage)(root, this);
    root.dataset.page = page;
  }

  /** What is not kept for good is said on every page. */
  warn() {
    const trouble = this.kept.trouble || (this.kept.store ? "" : say("This browser keeps nothing for this page once it is closed. Send what you enter before you close it."));
    if (!this.warning) return;
    this.warning.hidden = !trouble;
    this.warning.textContent = trouble;
  }
}

function homePage(root, card) {
  const { data } = card, { waiting } = card.kept;
  const plate = (page, title, words) => make("li", {}, make("a", { href: `#${encodeURIComponent(page)}` },
    make("strong", {}, title), make("span", {}, words)));
  put(root, 
    make("h1", {}, data.machine),
    stopBox(card),
    cautionBox([data.safety]),
    make("ul", { class: "doors" },
      plate("log daily check", say("Daily check"), say("Step by step: does it trip, does it reset?")),
      plate("wrong", say("What is wrong?"), say("One look at a time, the cheapest first.")),
      data.pawls ? plate("pawls", say("Set the pawls"), say("From two gaps to the fewest moves.")) : null,
      plate("stop", say("Would it stop?"), data.protection.verdict),
      plate("kept", say("Kept on this phone"),
        waiting ? sayMany("{count} not sent yet", "{count} not sent yet", waiting) : say("All sent, or nothing yet"))),
    make("h2", {}, say("Write down")),
    make("ul", { class: "doors small" }, Object.keys(data.forms).filter((kind) => kind !== "daily check").map((kind) =>
      plate(`log ${kind}`, data.forms[kind].title, data.forms[kind].meaning))),
    make("div", { class: "buttons" }, button(card.kept.all.sun ? say("Sun mode off") : say("Sun mode: greatest contrast"),
      () => { card.change((all) => { all.sun = !all.sun; }); card.draw(); }, "quiet")),
    list(data.about, "soft about"));
}

/** What was proved when the card was made: the words are the program's own, in the page already. */
function protectionPage(root, card) {
  const made = document.getElementById("protection").content.cloneNode(true);
  put(root, make("h1", {}, say("Would it stop?")), stopBox(card), paragraph(card.data.protection.as_of, "soft"), made);
}

document.addEventListener("DOMContentLoaded", () => {
  const data = JSON.parse(document.getElementById("card-data").textContent);
  globalThis.theCard = new Card(data, document.getElementById("page"));
});
