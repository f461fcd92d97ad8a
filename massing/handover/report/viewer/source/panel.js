// What the reader does: buttons, sliders, keys and pointer in; the view changed and said in words out.

import { still } from "./blocks.js";

export function panel(figure, { stage, flight, motions, markers, data }) {
  const canvas = figure.querySelector("canvas");
  const tip = figure.querySelector(".tip");
  const said = figure.querySelector(".said");
  const all = (selector, root = figure) => [...root.querySelectorAll(selector)];
  let chosen = null;
  let hovering = null;

  function choose(number, { fly = true, scroll = false } = {}) {
    chosen = number;
    const finding = data.findings.find((one) => one.number === number) ?? null;
    stage.light_up(finding);
    markers.choose(number);
    for (const button of all("[data-finding]", document)) {
      if (Number(button.dataset.finding) === number) button.setAttribute("aria-current", "true");
      else button.removeAttribute("aria-current");
    }
    for (const part of all("article.finding", document)) {
      part.classList.toggle("chosen", part.id === `finding-${number}`);
    }
    said.textContent = finding
      ? `${finding.number} of ${data.findings.length}, ${finding.verdict}: ${finding.says}`
      : data.idle;
    for (const name of motions.moves.keys()) motions.to(name, 0);
    if (finding?.motion) motions.to(finding.motion, finding.share);
    pressed();
    if (fly && finding?.at) flight.near(finding.towards, finding.reach);
    if (scroll) figure.scrollIntoView({ behavior: still() ? "auto" : "smooth", block: "start" });
  }

  function step(by) {
    if (!data.findings.length) return;
    const numbers = data.findings.map((one) => one.number);
    const at = numbers.indexOf(chosen);
    const next = at < 0 ? (by > 0 ? 0 : numbers.length - 1) : (at + by + numbers.length) % numbers.length;
    choose(numbers[next]);
  }

  function clear() {
    choose(null);
  }

  function pressed() {
    for (const button of all("[data-motion]")) {
      const move = motions.moves.get(button.dataset.motion);
      button.setAttribute("aria-pressed", String(Boolean(move && move.to > 0)));
    }
  }

  function reset() {
    for (const box of all("input[data-group]")) box.checked = box.defaultChecked;
    const slider = figure.querySelector("input[data-cut]");
    slider.value = slider.max;
    cut();
    stage.show();
    clear();
    flight.home();
  }

  function cut() {
    const slider = figure.querySelector("input[data-cut]");
    const whole = Number(slider.value) >= Number(slider.max);
    stage.setCut(whole ? null : Number(slider.value) / 1000);
    const words = whole ? "not cut" : `${slider.value} above the datum`;
    figure.querySelector("output").textContent = words;
    slider.setAttribute("aria-valuetext", words);
  }

  function tell(item, x, y) {
    hovering = item ? item.userData.name_as_written : null;
    stage.hover(item);
    tip.hidden = !item;
    if (!item) return;
    const facts = data.things[hovering];
    tip.replaceChildren();
    for (const [kind, words] of [
      ["b", hovering],
      ["span", facts?.size],
      ["span", facts?.verdict],
      ...(facts?.gaps ?? []).map((words) => ["small", words]),
    ]) {
      if (!words) continue;
      const line = document.createElement(kind);
      line.textContent = words;
      tip.append(line);
    }
    const half = tip.offsetWidth / 2 + 6;
    const left = Math.min(Math.max(x, half), Math.max(stage.width - half, half));
    const top = y > tip.offsetHeight + 24 ? y - tip.offsetHeight - 16 : y + 20;
    tip.style.transform = `translate(${(left - half + 6).toFixed(1)}px, ${top.toFixed(1)}px)`;
  }

  function tellOf(name) {
    const item = stage.items.get(name);
    if (!item) return;
    const at = stage.project(stage.middleOf(item));
    tell(item, at.x, at.y);
  }

  const place = (event) => {
    const box = canvas.getBoundingClientRect();
    return [event.clientX - box.left, event.clientY - box.top];
  };
  canvas.addEventListener("pointermove", (event) => {
    if (event.buttons) return;
    const [x, y] = place(event);
    tell(stage.pick(x, y), x, y);
  });
  canvas.addEventListener("pointerleave", () => tell(null));
  canvas.addEventListener("click", (event) => {
    canvas.focus({ preventScroll: true });
    const [x, y] = place(event);
    tell(stage.pick(x, y), x, y);
  });
  canvas.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const arrows = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
    const keys = {
      "+": () => flight.nearer(0.85),
      "=": () => flight.nearer(0.85),
      "-": () => flight.nearer(1 / 0.85),
      Home: () => flight.home(),
      n: () => step(1),
      p: () => step(-1),
      Escape: clear,
    };
    const arrow = arrows[event.key];
    if (arrow && event.shiftKey) flight.shift(...arrow);
    else if (arrow) flight.turn(arrow[0] * 0.12, -arrow[1] * 0.08);
    else if (keys[event.key]) keys[event.key]();
    else return;
    event.preventDefault();
  });

  for (const box of all("input[data-group]")) box.addEventListener("change", () => stage.show());
  figure.querySelector("input[data-cut]").addEventListener("input", cut);
  for (const button of all("[data-look]")) button.addEventListener("click", () => flight.look(button.dataset.look));
  for (const button of all("[data-step]")) button.addEventListener("click", () => step(Number(button.dataset.step)));
  figure.querySelector("[data-reset]").addEventListener("click", reset);
  for (const button of all("[data-finding]", document)) {
    button.hidden = false;
    button.addEventListener("click", () => {
      const number = Number(button.dataset.finding);
      const inside = figure.contains(button);
      if (inside && chosen === number) clear();
      else choose(number, { scroll: !inside });
    });
  }
  for (const disc of all("[data-mark]")) disc.addEventListener("click", () => choose(Number(disc.dataset.mark)));
  for (const button of all("[data-motion]")) {
    button.addEventListener("click", () => {
      const move = motions.moves.get(button.dataset.motion);
      motions.to(button.dataset.motion, move && move.to > 0 ? 0 : 1);
      pressed();
    });
  }
  const everything = figure.querySelector("[data-motions]");
  if (everything) {
    everything.addEventListener("click", () => {
      const open = [...motions.moves.values()].every((move) => move.to > 0);
      motions.allTo(open ? 0 : 1);
      pressed();
    });
  }
  for (const button of all("[data-thing]")) {
    const name = button.dataset.thing;
    button.addEventListener("focus", () => tellOf(name));
    button.addEventListener("pointerenter", () => tellOf(name));
    button.addEventListener("blur", () => tell(null));
    button.addEventListener("pointerleave", () => tell(null));
    button.addEventListener("click", () => {
      const item = stage.items.get(name);
      if (!item) return;
      flight.near(stage.middleOf(item).toArray(), 1.6);
      tellOf(name);
    });
  }
  said.textContent = data.idle;
  return () => ({ chosen, hovering, groups: groups(figure) });
}

function groups(figure) {
  const boxes = [...figure.querySelectorAll("input[data-group]")];
  return Object.fromEntries(boxes.map((box) => [box.dataset.group, box.checked]));
}
