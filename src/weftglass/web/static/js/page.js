// Small comforts on every page; each page works without them.

import { announce, ask, say } from "./letters.js";

/** Photographs dropped on, or picked in, a form marked data-drop-photographs are sent one by one. */
function dropPhotographs(form) {
  const input = form.querySelector("input[type=file]");
  const status = form.querySelector(".status");
  const lit = (on) => form.classList.toggle("lit", on);
  const send = async (files) => {
    const chosen = [...files];
    if (!chosen.length) return;
    form.setAttribute("aria-busy", "true");
    let address = null;
    for (const [k, file] of chosen.entries()) {
      say(status, `Taking in ${file.name} (${k + 1} of ${chosen.length}) …`);
      const body = new FormData(form);
      body.delete(input.name);
      body.append(input.name, file);
      try {
        const told = await ask(form.action, body);
        address ??= told.address;
      } catch (fault) {
        form.removeAttribute("aria-busy");
        say(status, fault.message, "bad");
        announce(fault.message);
        return;
      }
    }
    location.assign(address);
  };
  form.addEventListener("dragover", (event) => { event.preventDefault(); lit(true); });
  form.addEventListener("dragleave", () => lit(false));
  form.addEventListener("drop", (event) => { event.preventDefault(); lit(false); send(event.dataTransfer.files); });
  input.addEventListener("change", () => send(input.files));
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    if (input.files.length) send(input.files); else { say(status, "Choose a photograph first.", "bad"); input.focus(); }
  });
}

/** Filters apply as soon as one is chosen; the button stays for those without script. */
function applyAtOnce(form) {
  form.querySelectorAll("select, input[type=checkbox]").forEach((el) => el.addEventListener("change", () => form.requestSubmit()));
}

/** Arrow keys go from link to link of a grid as the eye does; Home and End to its ends. Tab works as ever. */
function arrows(grid) {
  const links = [...grid.querySelectorAll(":scope > li > a")];
  grid.addEventListener("keydown", (event) => {
    const here = links.indexOf(document.activeElement);
    if (here < 0 || event.ctrlKey || event.metaKey || event.altKey) return;
    const top = links[0].getBoundingClientRect().top;
    const across = Math.max(1, links.filter((link) => Math.abs(link.getBoundingClientRect().top - top) < 2).length);
    const steps = { ArrowLeft: here - 1, ArrowRight: here + 1, ArrowUp: here - across, ArrowDown: here + across, Home: 0, End: links.length - 1 };
    const next = links[steps[event.key]];
    if (!next) return;
    event.preventDefault();
    next.focus();
  });
}

/** On a phone the parts stand in one line: the one that is open is moved into sight. */
function intoSight(link) {
  const line = link.parentElement;
  line.scrollLeft = link.offsetLeft - line.offsetLeft - (line.clientWidth - link.offsetWidth) / 2;
}

document.querySelectorAll("nav > [aria-current]").forEach(intoSight);
document.querySelectorAll("[data-arrows]").forEach(arrows);
document.querySelectorAll("form[data-drop-photographs]").forEach(dropPhotographs);
document.querySelectorAll("form[data-at-once]").forEach(applyAtOnce);
document.querySelectorAll("form[data-busy]").forEach((form) => form.addEventListener("submit", () => form.querySelector("button").classList.add("busy")));
document.querySelectorAll("[data-print]").forEach((el) => { el.hidden = false; el.addEventListener("click", () => window.print()); });
document.querySelector("[role=alert], [aria-invalid=true]")?.scrollIntoView({ block: "center" });
document.querySelector("[aria-invalid=true]")?.focus();
