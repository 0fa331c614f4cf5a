// The phone's microphone as a WAV file in the form's own file chooser: nothing is sent before the person
// says so. Without a microphone, or without leave to use it, the file chooser is there.
"use strict";

(() => {
  const LONGEST = 60; // s
  const say = window.tripmarginSay;
  const tenths = (seconds) => seconds.toFixed(1).replace(".", document.body.dataset.decimalSign || ".");
  const box = document.querySelector("[data-recorder]"), file = document.querySelector("#recording");
  const can = window.isSecureContext && navigator.mediaDevices?.getUserMedia && window.AudioWorkletNode;
  const without = document.querySelector("[data-no-microphone]");
  if (!box || !can) return;
  box.hidden = false;
  without.hidden = true;
  const start = box.querySelector("[data-start]"), stop = box.querySelector("[data-stop]");
  const said = box.querySelector("[data-said]"), level = box.querySelector("[data-level]");
  let running;

  async function begin() {
    // As it is: what a phone does to make speech pleasant moves and hides the clack.
    const sound = { echoCancellation: false, noiseSuppression: false, autoGainControl: false };
    const stream = await navigator.mediaDevices.getUserMedia({ audio: sound });
    const context = new AudioContext();
    try {
      await context.audioWorklet.addModule(box.dataset.worklet);
      const node = new AudioWorkletNode(context, "tripmargin-recorder");
      const parts = [];
      let count = 0;
      node.port.onmessage = ({ data }) => {
        if (running?.parts !== parts) return; // what was on its way when it was stopped
        parts.push(data);
        count += data.length;
        level.value = data.reduce((most, sample) => Math.max(most, Math.abs(sample)), 0.95 * level.value);
        said.textContent = `${tenths(count / context.sampleRate)} s`;
        if (count > LONGEST * context.sampleRate) end();
      };
      running = { stream, context, parts };
      context.createMediaStreamSource(stream).connect(node);
      await context.resume();
    } catch (error) {
      running = null;
      for (const track of stream.getTracks()) track.stop();
      await context.close();
      throw error;
    }
  }
  const shown = (recording) => {
    start.hidden = recording;
    stop.hidden = level.hidden = !recording;
  };
  start.addEventListener("click", async () => {
    start.disabled = true;
    said.textContent = "";
    try {
      await begin();
      shown(true);
    } catch (error) {
      const refused = error.name === "NotAllowedError";
      said.textContent = refused
        ? say("The browser does not let this page use the microphone. Allow it in the browser's settings for this page, or choose a file below.")
        : say("There is no microphone that can be used. Choose a file below; a phone's own recorder makes one.");
    }
    start.disabled = false;
  });
  stop.addEventListener("click", end);

  function end() {
    if (!running) return;
    const { stream, context, parts } = running;
    running = null;
    for (const track of stream.getTracks()) track.stop();
    const made = wav(parts, context.sampleRate);
    context.close();
    const two = (number) => String(number).padStart(2, "0"), now = new Date();
    const name = `stop-${now.getFullYear()}${two(now.getMonth() + 1)}${two(now.getDate())}-${two(now.getHours())}${two(now.getMinutes())}${two(now.getSeconds())}.wav`;
    const files = new DataTransfer();
    files.items.add(new File([made], name, { type: "audio/wav" }));
    file.files = files.files;
    shown(false);
    start.textContent = say("Record again");
    said.textContent = say("Recorded: {time} s. Now read it.", { time: tenths((made.size - 44) / 2 / context.sampleRate) });
  }

  // 16 bits, one channel (RIFF WAVE).
  function wav(parts, rate) {
    const count = parts.reduce((sum, part) => sum + part.length, 0);
    const view = new DataView(new ArrayBuffer(44 + 2 * count));
    const text = (at, word) => [...word].forEach((letter, k) => view.setUint8(at + k, letter.charCodeAt(0)));
    text(0, "RIFF"); view.setUint32(4, 36 + 2 * count, true); text(8, "WAVEfmt ");
    view.setUint32(16, 16, true); view.setUint16(20, 1, true); view.setUint16(22, 1, true);
    view.setUint32(24, rate, true); view.setUint32(28, 2 * rate, true);
    view.setUint16(32, 2, true); view.setUint16(34, 16, true);
    text(36, "data"); view.setUint32(40, 2 * count, true);
    let at = 44;
    for (const part of parts) {
      for (const sample of part) {
        view.setInt16(at, Math.max(-1, Math.min(1, sample)) * 32767, true);
        at += 2;
      }
    }
    return new Blob([view], { type: "audio/wav" });
  }
})();
