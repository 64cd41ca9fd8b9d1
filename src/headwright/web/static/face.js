// Moves valves on the drawing of a face. The server computes; here fields are filled and asked.
const form = document.querySelector("#valves");
const asking = document.querySelector("#asking");
const live = document.querySelector("#live");
if (form && asking && live) {
  const told = form.querySelector("#told");
  const unit = form.dataset.unit;
  const perUnit = unit === "in" ? 25.4 : 1;
  const decimals = unit === "in" ? 4 : 3;
  const step = unit === "in" ? 0.005 : 0.1;
  let waiting = 0;
  let running = null;
  let held = null;

  const field = (name) => form.elements.namedItem(name);
  function read(input) {
    const found = /^\s*(-?\d+(?:\.\d*)?|-?\.\d+)\s*(in|"|mm)?\s*$/.exec(input.value);
    if (!found) return null;
    const inUnit = !found[2] ? perUnit : found[2] === "mm" ? 1 : 25.4;
    return Number(found[1]) * inUnit;
  }
  function write(input, millimetres) {
    input.value = `${(millimetres / perUnit).toFixed(decimals)} ${unit}`;
  }

  function question() {
    const asked = new URLSearchParams(new FormData(asking));
    for (const input of form.querySelectorAll("fieldset input"))
      if (input.value !== input.defaultValue) asked.append(input.name, input.value);
    for (const name of ["over", "beside", "on", "build"]) if (!asked.get(name)) asked.delete(name);
    return asked;
  }

  async function ask() {
    running?.abort();
    running = new AbortController();
    document.body.classList.add("busy");
    try {
      const address = new URL(form.dataset.tried, window.location.href);
      for (const [name, value] of question()) if (name !== "system") address.searchParams.append(name, value);
      const answer = await fetch(address, { signal: running.signal });
      if (!answer.ok) throw new Error(`the server answered ${answer.status}`);
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      for (const name of held ? ["live-figures"] : ["live-drawing", "live-figures"]) {
        const fresh = page.getElementById(name);
        if (fresh) document.getElementById(name).replaceWith(document.adoptNode(fresh));
      }
      const trouble = live.querySelector("[role=alert]");
      const verdict = live.querySelector(".answer");
      told.textContent = trouble ? trouble.textContent : `Tried, not saved: ${verdict?.dataset.words ?? ""}`;
      document.body.classList.remove("busy");
    } catch (error) {
      if (error.name === "AbortError") return;
      document.body.classList.remove("busy");
      told.textContent = `Not computed: ${error.message}.`;
    }
  }
  function soon(delay = 150) {
    clearTimeout(waiting);
    waiting = setTimeout(ask, delay);
  }

  form.addEventListener("input", () => soon());
  form.addEventListener("keydown", (event) => {
    const sense = { ArrowUp: 1, ArrowDown: -1 }[event.key];
    if (!sense || !event.target.matches("fieldset input")) return;
    const now = read(event.target);
    if (now === null) return;
    event.preventDefault();
    write(event.target, now + sense * step * perUnit * (event.shiftKey ? 10 : 1));
    soon();
  });

  function place(svg, event) {
    const matrix = svg.getScreenCTM();
    return matrix ? new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix.inverse()) : null;
  }
  live.addEventListener("pointerdown", (event) => {
    const group = event.target.closest("[data-layer=valves][data-mark]");
    const svg = group?.closest("svg");
    if (!group || !svg) return;
    const [cylinder, side] = group.dataset.mark.split(" ");
    const across = field(`x.${cylinder}.${side}`);
    const along = field(`y.${cylinder}.${side}`);
    const from = place(svg, event);
    if (!across || !along || !from) return;
    const [x, y] = [read(across), read(along)];
    if (x === null || y === null) return;
    event.preventDefault();
    const parts = svg.querySelectorAll(`[data-mark="${group.dataset.mark}"]`);
    held = { svg, from, x, y, across, along, parts, pointer: event.pointerId, last: 0 };
    svg.setPointerCapture(event.pointerId);
    for (const part of parts) part.classList.add("held");
  });
  live.addEventListener("pointermove", (event) => {
    if (!held || event.pointerId !== held.pointer) return;
    const now = place(held.svg, event);
    if (!now) return;
    const [right, down] = [now.x - held.from.x, now.y - held.from.y];
    for (const part of held.parts) part.setAttribute("transform", `translate(${right} ${down})`);
    write(held.across, held.x + right);
    write(held.along, held.y - down);
    if (event.timeStamp - held.last > 200) {
      held.last = event.timeStamp;
      ask();
    }
  });
  function drop(event) {
    if (!held || event.pointerId !== held.pointer) return;
    for (const part of held.parts) part.classList.remove("held");
    held = null;
    soon(0);
  }
  live.addEventListener("pointerup", drop);
  live.addEventListener("pointercancel", drop);
  document.body.classList.add("draggable");
}
