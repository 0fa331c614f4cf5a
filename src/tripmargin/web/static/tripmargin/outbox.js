// The phone's outbox: a form is kept here before it is sent, and leaves only when the server says that
// it has it. It carries an id of its own, so that a second sending is known as one.
"use strict";

// What a script says, in the reader's language: the page brings the words (web/log/script_words.py).
window.tripmarginSay ??= (() => {
  const words = JSON.parse(document.querySelector("#script-words")?.dataset.words || "{}");
  return (text, values = {}) => (words[text] ?? text).replace(/\{(\w+)\}/g, (_, name) => values[name]);
})();

window.tripmarginOutbox ??= (() => {
  const STORE = "outbox", AGAIN = 30_000, ASK = 10_000, SEND = 120_000; // ms
  const say = window.tripmarginSay;
  const onItsWay = new Set();
  let opened, timer, shown;

  const database = () => opened ??= new Promise((found, failed) => {
    const asked = indexedDB.open("tripmargin", 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore(STORE, { keyPath: "uid" });
    asked.onsuccess = () => found(asked.result);
    asked.onerror = () => failed(asked.error);
  });
  const ask = async (mode, work) => {
    const held = (await database()).transaction(STORE, mode);
    const asked = work(held.objectStore(STORE));
    return new Promise((done, failed) => {
      held.oncomplete = () => done(asked.result);
      held.onerror = held.onabort = () => failed(held.error);
    });
  };
  const keep = (item) => ask("readwrite", (store) => store.put(item));
  const drop = (uid) => ask("readwrite", (store) => store.delete(uid));
  const one = (uid) => ask("readonly", (store) => store.get(uid));
  const all = () => ask("readonly", (store) => store.getAll());

  // The newest form that was begun at this address by this person, and not sent.
  const draftOf = async (url, person) => (await all()).filter(
    (item) => item.state === "draft" && item.url === url && item.person === person,
  ).sort((one, other) => one.keptAt.localeCompare(other.keptAt)).pop();

  const reach = async (address, more, patience) => {
    const stop = new AbortController();
    const late = setTimeout(() => stop.abort(), patience);
    try {
      return await fetch(address, { cache: "no-store", signal: stop.signal,
        ...more, headers: { Accept: "application/json" } });
    } finally {
      clearTimeout(late);
    }
  };
  const isJson = (answer) => (answer.headers.get("Content-Type") || "").startsWith("application/json");
  const waiting = (why) => ({ state: "waiting", why });

  // Send one item. What comes back says whether the server has it, refuses it, or was not reached.
  async function send(item) {
    let who;
    try {
      const answer = await reach("/outbox/", {}, ASK);
      if (!answer.ok || !isJson(answer)) return waiting(say("The server does not answer as it should."));
      who = await answer.json();
    } catch {
      return waiting(say("No connection."));
    }
    if (who.person === null) {
      forgetPages();
      return waiting(say("{who} is not signed in.", { who: item.personName }));
    }
    if (String(who.person) !== item.person) {
      return waiting(say("{who} entered this; it is sent when {who} signs in.", { who: item.personName }));
    }
    const body = new FormData();
    for (const [name, text] of item.fields) body.append(name, text);
    for (const photo of item.photos) body.append("photos", photo.blob, photo.name);
    body.set("csrfmiddlewaretoken", who.token);
    body.set("clock", new Date().toISOString());
    try {
      const answer = await reach(item.url, { method: "POST", body }, SEND);
      if (answer.redirected) return waiting(say("{who} is not signed in.", { who: item.personName }));
      if (!isJson(answer)) return refusedByStatus(answer.status);
      const said = await answer.json();
      if (answer.ok && said.kept) return { state: "kept", address: said.kept };
      if (said.another) return waiting(said.troubles[""][0]);
      return { state: "refused", troubles: said.troubles, uid: said.uid, see: said.see };
    } catch {
      return waiting(say("No connection."));
    }
  }
  function refusedByStatus(status) {
    if (status >= 500 || status === 429 || status === 408) {
      return waiting(say("The server could not take it just now ({status}).", { status }));
    }
    const why = {
      400: say("It was too large or not whole."),
      403: say("Your role does not reach, or the entry is not yours to correct."),
      404: say("The machine or the entry is not there any more."),
      413: say("It was too large. Leave some photos out."),
    }[status] || say("The server did not take it ({status}).", { status });
    return { state: "refused", troubles: { "": [why] } };
  }

  // Send an item that is kept already, and note what came of it.
  async function settle(item) {
    onItsWay.add(item.uid);
    try {
      const came = await send(item);
      if (came.state === "kept") {
        await drop(item.uid);
      } else {
        const { uid = item.uid, troubles = null, why = "" } = came;
        await keep({ ...renamed(item, uid), state: came.state, troubles, why });
        if (uid !== item.uid) await drop(item.uid);
      }
      return came;
    } finally {
      onItsWay.delete(item.uid);
    }
  }
  function renamed(item, uid) {
    const fields = item.fields.map(([name, text]) => [name, name === "uid" ? uid : text]);
    return { ...item, uid, fields };
  }

  async function sendAll() {
    clearTimeout(timer);
    const items = await all();
    for (const item of items) {
      if (item.state === "waiting" && !onItsWay.has(item.uid) && navigator.onLine) await settle(item);
    }
    await later();
  }
  // Show what is left, and try again after a while.
  async function later() {
    clearTimeout(timer);
    await show();
    const left = (await all()).some((item) => item.state === "waiting");
    if (left) timer = setTimeout(() => quietly(sendAll), AGAIN);
  }

  // The strip that says what is not sent yet.
  async function show() {
    const form = document.querySelector("form[data-outbox]");
    const here = form?.elements.uid?.value;
    const items = (await all()).filter((item) => item.uid !== here && item.state !== "draft");
    const person = form?.elements.person?.value;
    shown ??= made("section", { className: "notice outbox" });
    shown.setAttribute("role", "status");
    shown.replaceChildren();
    const main = document.querySelector("main");
    if (!items.length) {
      shown.remove();
      return;
    }
    if (shown.parentNode !== main) main.prepend(shown);
    for (const machine of new Set(items.filter((item) => item.bars).map((item) => item.machine))) {
      const stop = made("p", { className: "caution" });
      stop.append(made("strong", { textContent: `${machine}. ` }), say(
        "The protection does not work as it should. Do not work with this machine until it is found and a check has passed."));
      shown.append(stop);
    }
    list(say("Kept on this phone, not yet sent"), items.filter((item) => item.state === "waiting"), person);
    list(say("Not taken by the server, still on this phone"),
      items.filter((item) => item.state === "refused"), person);
    if (items.some((item) => item.state === "waiting")) {
      const now = made("button", { type: "button", className: "second", textContent: say("Send now") });
      now.addEventListener("click", sendAll);
      shown.append(now);
    }
  }
  function list(title, items, person) {
    if (!items.length) return;
    shown.append(made("strong", { textContent: `${title} (${items.length})` }));
    const rows = made("ul", {});
    for (const item of items) rows.append(row(item, person));
    shown.append(rows);
  }
  function row(item, person) {
    const line = made("li", {});
    // On a phone that several people use, what one entered is not shown to the next.
    const another = person && person !== item.person;
    line.append(another ? say("Of {who}.", { who: item.personName }) : `${item.title}, ${item.machine}, ${item.keptAt}.`);
    line.append(" ", item.why || "");
    if (item.state === "refused" && !another) {
      const mend = new URL(item.url, location.href);
      mend.searchParams.set("outbox", item.uid);
      line.append(made("a", { href: mend.href, textContent: say("Mend it") }), " ", discard(item));
    }
    return line;
  }
  function discard(item) {
    const fold = made("details", {});
    const sure = made("button", { type: "button", className: "second", textContent: say("Yes, throw it away") });
    sure.addEventListener("click", async () => { await drop(item.uid); await show(); });
    fold.append(made("summary", { textContent: say("Throw it away") }), sure);
    return fold;
  }
  const made = (name, properties) => Object.assign(document.createElement(name), properties);

  // Pages of somebody who is signed out do not stay on the phone.
  async function forgetPages() {
    if (!("caches" in window)) return;
    for (const name of await caches.keys()) {
      if (name.startsWith("tripmargin-pages")) await caches.delete(name);
    }
  }
  async function listForms() {
    const rows = document.querySelector("[data-kept-forms]");
    if (!rows || !("caches" in window)) return;
    const found = [];
    for (const name of (await caches.keys()).filter((each) => each.startsWith("tripmargin-pages"))) {
      const pages = await caches.open(name);
      for (const request of await pages.keys()) {
        const text = await (await pages.match(request)).text();
        const title = new DOMParser().parseFromString(text, "text/html").title.replace(" · tripmargin", "");
        const line = made("li", {});
        line.append(made("a", { className: "name", href: request.url, textContent: title }));
        found.push(line);
      }
    }
    if (found.length) rows.replaceChildren(...found);
  }
  // Service workers run only where the connection is safe (TLS, or this very computer).
  async function startWorker() {
    if (!("serviceWorker" in navigator) || !window.isSecureContext) return;
    await navigator.serviceWorker.register("/worker.js");
    const first = document.querySelector("[data-keep-form]");
    if (first) (await navigator.serviceWorker.ready).active.postMessage({ keep: first.href });
  }

  const quietly = (work) => work().catch((error) => console.warn("outbox:", error));
  window.addEventListener("online", () => quietly(sendAll));
  document.addEventListener("visibilitychange", () => { if (!document.hidden) quietly(sendAll); });
  quietly(sendAll);
  quietly(listForms);
  quietly(startWorker);
  return { keep, drop, one, draftOf, settle, show, later };
})();
