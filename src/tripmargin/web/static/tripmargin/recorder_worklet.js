// Hands the microphone's samples on, as they come.
"use strict";

registerProcessor("tripmargin-recorder", class extends AudioWorkletProcessor {
  process([input]) {
    if (input[0]) this.port.postMessage(input[0].slice());
    return true;
  }
});
