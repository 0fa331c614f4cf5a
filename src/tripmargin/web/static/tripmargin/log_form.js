// A form of the log on a phone: its clock, its photos, its answers at one touch, and its way through
// the outbox. Without this script it is a plain form.
"use strict";

(() => {
  const outbox = window.tripmarginOutbox, say = window.tripmarginSay;
  const form = document.querySelector("form[data-outbox]");
  const { elements } = form;
  const two = (number) => String(number).padStart(2, "0");
  const newId = () => {
    // Where the connection is not safe a browser has no randomUUID, but random numbers.
    const bytes = crypto.getRandomValues(new Uint8Array(16));
    bytes[6] = (bytes[6] & 0x0f) | 0x40;
    bytes[8] = (bytes[8] & 0x3f) | 0x80;
    const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
    return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
  };

  // When it happened, by the phone's own clock.
  const local = (moment) => `${moment.getFullYear()}-${two(moment.getMonth() + 1)}-${two(moment.getDate())}`
    + `T${two(moment.getHours())}:${two(moment.getMinutes())}`;
  const sayZone = () => {
    if (!elements.at) return;
    const moment = new Date(elements.at.value);
    if (!Number.isNaN(moment.getTime())) elements.zone.value = moment.getTimezoneOffset();
  };
  const setTime = (moment) => {
    if (!elements.at) return;
    elements.at.value = local(moment);
    form.querySelector("[data-zone]").hidden = true;
    sayZone();
  };

  // Photos: taken one by one or chosen together, they add up.
  const chosen = form.querySelector(".chosen");
  const photoBox = form.querySelector("#photos");
  const held = [];
  const setPhotos = () => {
    const files = new DataTransfer();
    for (const file of held) files.items.add(file);
    photoBox.files = files.files;
    chosen.replaceChildren(...held.map((file, number) => {
      const line = document.createElement("li"), picture = document.createElement("img");
      const out = document.createElement("button");
      picture.src = URL.createObjectURL(file);
      picture.alt = "";
      Object.assign(out, { type: "button", className: "quiet", textContent: say("Leave out {name}", { name: file.name }) });
      out.addEventListener("click", () => { held.splice(number, 1); setPhotos(); keepDraft(); });
      line.append(picture, out);
      return line;
    }));
    const large = held.filter((file) => file.size > 8 * 1024 * 1024).map((file) => file.name);
    const troubles = large.map((name) => say(
      '"{name}" is larger than 8 MB. Leave it out, or send a smaller copy.', { name },
    ));
    if (held.length > 6) troubles.push(say("{count} photos: at most 6 for one entry.", { count: held.length }));
    place("photos", troubles);
  };
  for (const box of form.querySelectorAll("input[type=file]")) {
    box.addEventListener("change", () => {
      held.push(...box.files);
      if (box !== photoBox) box.value = "";
      setPhotos();
    });
  }

  // Troubles beside their boxes.
  function place(name, texts) {
    const field = [...form.querySelectorAll("[data-field]")].find((one) => one.dataset.field === name);
    const into = field?.querySelector(".troubles") || form.querySelector(".loose");
    field?.classList.toggle("wrong", texts.length > 0);
    const lines = texts.map((text) => {
      const line = document.createElement("p");
      line.className = "trouble";
      line.textContent = text;
      return line;
    });
    if (field) into.replaceChildren(...lines); else into.append(...lines);
    const box = field?.querySelector("input, textarea");
    if (box && texts.length) {
      const fold = field.closest("details");
      if (fold) fold.open = true;
      box.setAttribute("aria-invalid", "true");
      box.setAttribute("aria-describedby", into.id);
    } else {
      box?.removeAttribute("aria-invalid");
    }
    return field ? box : null;
  }
  const NAMED = ["at", "note", "photos"];
  function showTroubles(troubles, see) {
    const loose = form.querySelector(".loose");
    loose.replaceChildren();
    for (const field of form.querySelectorAll("[data-field]")) place(field.dataset.field, []);
    const keys = Object.keys(troubles);
    if (!keys.length) return;
    const head = document.createElement("p");
    head.className = "notice error";
    head.textContent = say("Not kept yet. It stays on this phone until it is mended.");
    loose.append(head);
    const boxes = keys.map((key) => place(NAMED.includes(key) ? key : `v.${key}`, troubles[key]));
    if (see) {
      const link = document.createElement("a");
      Object.assign(link, { href: see, textContent: say("The entry that was kept") });
      loose.append(link);
    }
    boxes.filter(hasComma).forEach(offerPoint);
    const first = boxes.find(Boolean);
    if (first) first.focus(); else loose.scrollIntoView();
  }

  // A decimal comma is the only decimal sign on some phones' keyboards: one touch mends it (mend.js).
  const hasComma = (box) => box?.closest(".with-unit") && box.id !== "at" && /\d,\d/.test(window.tripmarginTyped(box.value));
  function offerPoint(box) {
    const mends = window.tripmarginMeant(box.value).map((text) => {
      const mend = document.createElement("button");
      Object.assign(mend, { type: "button", className: "second", value: text, textContent: say("Make it {text}", { text: window.tripmarginSpelled(text) }) });
      mend.dataset.mend = box.name;
      return mend;
    });
    box.closest("[data-field]").querySelector(".troubles").append(...mends);
  }
  form.addEventListener("mended", (event) => {
    event.preventDefault();
    place(event.target.name, []);
    event.target.focus();
    keepDraft();
  });
  form.addEventListener("change", ({ target }) => {
    if (!hasComma(target)) return;
    place(target.name, [say("A comma inside a number. Is it a decimal point?")]);
    offerPoint(target);
  });

  // Before anything is sent or kept for later: without a connection the server's answer would come
  // when nobody stands at the machine any more.
  function askOfCommas() {
    const boxes = [...form.querySelectorAll(".with-unit input")].filter(hasComma);
    for (const box of boxes) {
      const fold = box.closest("details");
      if (fold) fold.open = true;
      place(box.name, [say("Not kept yet. A comma inside a number. Is it a decimal point?")]);
      offerPoint(box);
    }
    boxes[0]?.focus();
    return boxes.length > 0;
  }

  // What is kept on the phone, and back into the form.
  const take = () => {
    const fields = [], photos = [];
    for (const [name, value] of new FormData(form)) {
      if (value instanceof File) {
        if (value.size) photos.push({ name: value.name, blob: value });
      } else if (!["csrfmiddlewaretoken", "clock", "fill"].includes(name)) {
        fields.push([name, value]);
      }
    }
    const now = new Date();
    return { bars: barsWork(), uid: elements.uid.value, url: location.pathname, title: form.dataset.title,
      machine: form.dataset.machine, person: elements.person.value, personName: form.dataset.personName,
      keptAt: local(now).replace("T", " "), state: "waiting", why: "", fields, photos };
  };
  // Whether this entry says that the protection does not work: told at once, also without the server.
  const barsWork = () => {
    const said = (name) => (elements.namedItem(name)?.value ?? "").trim();
    const kind = form.dataset.kind;
    if (kind === "daily check") return Boolean(form.querySelector("input[type=radio][value=no]:checked"));
    return kind === "missed metal" || (kind === "trip" && (said("through") === "yes" || /^[-\u2212]/.test(said("left"))));
  };
  const fill = (item) => {
    for (const [name, text] of item.fields) {
      const box = elements.namedItem(name);
      if (box && name !== "person" && name !== "keep") box.value = text;
    }
    for (const box of form.querySelectorAll("input[name=keep]")) {
      box.checked = item.fields.some(([name, text]) => name === "keep" && text === box.value);
    }
    for (const fold of form.querySelectorAll("details")) fold.open ||= Boolean(fold.querySelector(":checked"));
    if (photoBox && item.photos.length) {
      held.push(...item.photos.map(({ name, blob }) => new File([blob], name, { type: blob.type })));
      setPhotos();
    }
    if (elements.at) form.querySelector("[data-zone]").hidden = true;
    if (item.troubles) showTroubles(item.troubles);
  };

  // What is typed is kept while it is typed: a page that is left or loaded anew loses nothing.
  let draft;
  function keepDraft() {
    clearTimeout(draft);
    draft = setTimeout(() => outbox.keep({ ...take(), state: "draft" }).catch(() => {}), 400);
  }
  for (const event of ["input", "change"]) form.addEventListener(event, keepDraft);
  form.querySelector(".keep a").addEventListener("click", (event) => {
    event.preventDefault();
    leave().catch(() => {}).then(() => location.assign(event.target.href));
  });
  async function leave() {
    clearTimeout(draft);
    await outbox.drop(elements.uid.value);
  }
  function sayDraft(item) {
    const said = document.createElement("p"), anew = document.createElement("button");
    said.className = "notice";
    said.append(say("What you had typed at {when} is back.", { when: item.keptAt }), " ");
    Object.assign(anew, { type: "button", className: "quiet", textContent: say("Start anew") });
    anew.addEventListener("click", async () => {
      await leave();
      form.reset();
      said.remove();
      begin();
    });
    said.append(anew);
    form.querySelector(".loose").append(said);
  }

  function begin() {
    elements.uid.value = newId();
    held.length = 0;
    if (photoBox) setPhotos();
    setTime(form.dataset.at ? new Date(`${form.dataset.at}Z`) : new Date());
  }
  async function open() {
    const wanted = new URLSearchParams(location.search).get("outbox");
    const item = wanted && await outbox.one(wanted);
    if (item && item.person === elements.person.value) {
      fill(item);
      await outbox.show();
    } else if ("fresh" in form.dataset) {
      const left = await outbox.draftOf(location.pathname, elements.person.value);
      if (left) { fill(left); sayDraft(left); } else begin();
    } else if (elements.at) {
      form.querySelector("[data-zone]").hidden = elements.zone.value !== "0";
    }
  }

  form.addEventListener("click", (event) => {
    const button = event.target.closest("[data-fill]");
    if (!button) return;
    event.preventDefault();
    for (const pair of button.dataset.fill.split(" ")) {
      const [name, value] = pair.split("=");
      elements.namedItem(name).value = value;
    }
    keepDraft();
  });

  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const button = form.querySelector(".keep button");
    if (button.disabled) return;
    if (askOfCommas()) return;
    sayZone();
    clearTimeout(draft);
    const item = take();
    try {
      await outbox.keep(item);
    } catch {
      // No room on the phone, or none allowed: a plain form then.
      if (elements.clock) elements.clock.value = new Date().toISOString();
      form.submit();
      return;
    }
    button.disabled = true;
    const came = await outbox.settle(item);
    button.disabled = false;
    if (came.state === "kept") {
      elements.uid.value = newId();
      location.assign(came.address);
    } else if (came.state === "refused") {
      if (came.uid) elements.uid.value = came.uid;
      showTroubles(came.troubles, came.see);
    } else {
      form.reset();
      showTroubles({});
      begin();
      await outbox.later();
      document.querySelector("main").focus();
      window.scrollTo(0, 0);
    }
  });

  open().catch((error) => { console.warn("form:", error); begin(); });
})();
