// Recording a vessel's tone in the page: each take is kept here, and all of them are heard together.

import { announce, ask, say } from "./letters.js";
import { record, wav } from "./recording.js";

const SECONDS = 5;
const NAMES = { recordings: "empty", fill1: "first dry fill", fill2: "second dry fill" };
const form = document.querySelector("[data-tone]");
const desk = form.querySelector("[data-recorder]");
const button = form.querySelector("[data-record]");
const status = form.querySelector("[data-status]");
const level = form.querySelector("[data-level]");
const list = form.querySelector("[data-takes]");
const heard = document.getElementById("heard");
const takes = [];
let stop = null;

/** Draw the list of takes made here. */
function show() {
  list.replaceChildren(...takes.map((take, i) => {
    const row = document.createElement("li");
    const out = Object.assign(document.createElement("button"), { type: "button", className: "plain", textContent: "leave out" });
    out.setAttribute("aria-label", `Leave out recording ${i + 1}`);
    out.addEventListener("click", () => { takes.splice(i, 1); show(); if (takes.length) hear(); });
    row.append(Object.assign(document.createElement("span"), { textContent: `Recording ${i + 1}, ${NAMES[take.into]}, ${take.seconds.toFixed(1)} s` }), out);
    return row;
  }));
}

/** Send everything there is, recorded and chosen, and show what was heard. */
async function hear() {
  const body = new FormData(form);
  body.delete("into");
  takes.forEach((take, i) => body.append(take.into, take.file, `recording-${i + 1}.wav`));
  heard.setAttribute("aria-busy", "true");
  say(status, "Listening …");
  try {
    const told = await ask(form.action, body);
    heard.innerHTML = told.html;
    say(status, told.sentence, "good");
    announce(told.sentence);
  } catch (fault) {
    say(status, fault.message, "bad");
    announce(fault.message);
  }
  heard.removeAttribute("aria-busy");
}

async function take() {
  if (stop) { stop.abort(); return; }
  const into = form.querySelector("[name=into]:checked").value;
  stop = new AbortController();
  button.textContent = "Stop";
  button.setAttribute("aria-pressed", "true");
  say(status, "Recording: puff or pat now.");
  try {
    const sound = await record(SECONDS, (loudest, seconds) => {
      level.style.width = `${Math.min(100, 100 * loudest)}%`;
      level.classList.toggle("loud", loudest > 0.98);
      button.textContent = `Stop (${Math.max(0, SECONDS - seconds).toFixed(0)} s left)`;
    }, stop.signal);
    takes.push({ into, file: wav(sound), seconds: sound.samples.length / sound.rate });
    show();
  } catch (fault) {
    const refused = fault.name === "NotAllowedError" || fault.name === "NotFoundError";
    const words = refused ? "There is no microphone, or the browser may not use it. A file does as well." : fault.message;
    say(status, words, "bad");
    announce(words);
    return;
  } finally {
    stop = null;
    level.style.width = "0";
    button.textContent = "Record five seconds more";
    button.setAttribute("aria-pressed", "false");
  }
  if (takes.some((one) => one.into === "recordings") || form.querySelector("#tone-recordings").files.length) await hear();
  else say(status, "Now record the empty vessel too.");
}

if (navigator.mediaDevices?.getUserMedia && window.AudioContext) {
  desk.hidden = false;
  form.querySelector("[data-no-microphone]").hidden = true;
  button.addEventListener("click", take);
}
form.addEventListener("submit", (event) => { event.preventDefault(); hear(); });
