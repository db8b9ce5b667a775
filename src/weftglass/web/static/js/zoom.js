// A window over a wide figure: larger, smaller, whole; the figure fits its window where there is no script.

import { announce } from "./letters.js";

const STEPS = [1, 1.5, 2, 3, 4, 6, 8];

function zoomable(frame) {
  const figures = frame.querySelectorAll("svg"); // the same for a desk and for a hand; one is shown
  let at = 0;
  const tools = document.createElement("div");
  tools.className = "zoom-tools no-print";
  const set = (next) => {
    at = Math.max(0, Math.min(STEPS.length - 1, next));
    const middle = (frame.scrollLeft + frame.clientWidth / 2) / Math.max(frame.scrollWidth, 1);
    figures.forEach((figure) => { figure.style.width = `${100 * STEPS[at]}%`; });
    frame.scrollLeft = middle * frame.scrollWidth - frame.clientWidth / 2;
    tools.querySelector("output").textContent = `${STEPS[at]}×`;
    announce(`Shown ${STEPS[at]} times as wide as the window`);
  };
  for (const [words, change] of [["Larger", () => set(at + 1)], ["Smaller", () => set(at - 1)], ["Whole", () => set(0)]]) {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = words;
    button.addEventListener("click", change);
    tools.append(button);
  }
  tools.append(Object.assign(document.createElement("output"), { textContent: "1×" }));
  frame.before(tools);
  frame.addEventListener("keydown", (event) => {
    if (event.key === "+" || event.key === "=") set(at + 1);
    else if (event.key === "-") set(at - 1);
    else if (event.key === "0") set(0);
    else return;
    event.preventDefault();
  });
}

document.querySelectorAll("[data-zoom]").forEach(zoomable);
