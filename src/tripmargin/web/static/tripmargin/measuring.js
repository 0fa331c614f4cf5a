// The answer to a test pass goes through the phone's outbox: where the connection breaks just then, it
// is kept on the phone and sent later. Without this script it is a plain form.
"use strict";

document.addEventListener("submit", async (event) => {
  const form = event.target.closest(".answer-pass"), outbox = window.tripmarginOutbox, say = window.tripmarginSay;
  if (!form || !outbox || form.dataset.plain !== undefined) return;
  event.preventDefault();
  const buttons = form.querySelectorAll("button"), pressed = event.submitter || buttons[0];
  if (pressed.disabled) return;
  const two = (number) => String(number).padStart(2, "0"), now = new Date();
  const day = `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
  const time = `${two(now.getHours())}:${two(now.getMinutes())}`;
  form.elements.at.value = `${day}T${time}`;
  form.elements.zone.value = now.getTimezoneOffset();
  const fields = [...new FormData(form)].filter(([name]) => !["csrfmiddlewaretoken", "clock"].includes(name));
  fields.push([pressed.name, pressed.value]);
  const caught = pressed.value === "yes", { title } = form.dataset;
  const item = { uid: form.elements.uid.value, url: new URL(form.action).pathname,
    title: caught ? say("{title}: caught", { title }) : say("{title}: missed", { title }), machine: form.dataset.machine,
    person: form.elements.person.value, personName: form.dataset.personName,
    keptAt: `${day} ${time}`, state: "waiting", why: "", fields, photos: [] };
  const plainly = () => {
    // No room on the phone, or none allowed: a plain form then.
    form.dataset.plain = "";
    form.requestSubmit(pressed);
  };
  try {
    await outbox.keep(item);
  } catch {
    plainly();
    return;
  }
  for (const button of buttons) button.disabled = true;
  const came = await outbox.settle(item);
  if (came.state === "kept") {
    // To the same page with its mark a browser would only scroll: the next piece is on a new one.
    const there = new URL(came.address, location.href);
    if (there.pathname !== location.pathname) location.assign(there);
    else {
      history.replaceState(null, "", there);
      location.reload();
    }
    return;
  }
  const told = document.createElement("p");
  told.className = "notice";
  told.textContent = came.state === "waiting"
    ? [caught ? say("Kept on this phone as caught.") : say("Kept on this phone as missed."), came.why,
      say("It is sent by itself later; then the next piece comes.")].join(" ")
    : Object.values(came.troubles || {}).flat().join(" ");
  form.querySelector(".loose").replaceChildren(told);
  form.elements.uid.value = "";
  await outbox.later();
});
