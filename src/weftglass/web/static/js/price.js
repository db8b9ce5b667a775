// The message to a seller follows the questions that are ticked, and can be copied; the maker is weighed once the page is there.
import { announce, ask } from "./letters.js";

const maker = document.querySelector("[data-maker]");
if (maker) {
  maker.textContent = "Weighing who may have made it …";
  maker.classList.add("busy");
  ask(maker.dataset.maker)
    .then(({ sentence }) => { maker.textContent = sentence; announce(sentence); })
    .catch((fault) => { maker.textContent = fault.message; })
    .finally(() => maker.classList.remove("busy"));
}

const box = document.getElementById("message");
if (box) {
  const form = box.form;
  const status = form.querySelector(".status");
  const ticks = [...form.querySelectorAll("input[data-question]")];
  const lines = box.value.split("\n");
  const first = lines.findIndex((line) => /^1\. /.test(line));
  const head = lines.slice(0, first);
  const tail = lines.slice(first + ticks.length);
  const write = () => {
    const asked = ticks.filter((tick) => tick.checked).map((tick, i) => `${i + 1}. ${tick.dataset.question}`);
    box.value = [...head, ...asked, ...tail].join("\n");
  };
  ticks.forEach((tick) => tick.addEventListener("change", write));
  form.querySelector("[data-copy]").addEventListener("click", async () => {
    try {
      await navigator.clipboard.writeText(box.value);
      status.textContent = "Copied. Paste it where you write to the seller.";
      status.dataset.mood = "good";
    } catch {
      box.focus();
      box.select();
      status.textContent = "This browser doesn’t let a page copy: the text is selected, copy it with the keyboard.";
      status.dataset.mood = "bad";
    }
  });
}
