// Taps, drags, sliders and texts of the pages that `serve` draws. It holds no logic: it
// sends what happened and shows what comes back. Without it every form works by itself.
"use strict";
(() => {
  const app = document.getElementById("app");
  const says = document.getElementById("says");
  const screen = () => app.querySelector(".screen");
  let queue = Promise.resolve();
  document.documentElement.classList.add("scripted");

  // One request after another: the core answers in order.
  const later = (task) => (queue = queue.then(task).catch(() => complain()));
  const complain = () => {
    says.textContent = "";
    const note = document.createElement("div");
    note.className = "notice problem";
    note.textContent = "The program does not answer. Start it again and open its link; nothing saved is lost.";
    app.prepend(note);
  };

  const send = (fields) => {
    const body = new URLSearchParams(fields);
    body.set("token", screen().dataset.token);
    body.set("inside", "yes");
    return fetch("/act", { method: "POST", body }).then((answer) => {
      if (!answer.ok) throw new Error(answer.status);
      return answer.text();
    });
  };

  // The new screen takes the place of the old one; a field that is being written in, or a
  // slider that is being held, stays as it is.
  const draw = (html) => {
    const before = screen().dataset;
    const held = document.activeElement;
    const key = held && held.dataset ? held.dataset.key : undefined;
    const editing = key && held.matches("input, textarea");
    const next = document.createElement("template");
    next.innerHTML = html;
    const fresh = next.content.querySelector(".screen");
    const same = fresh.dataset.place === before.place;
    const scroll = window.scrollY;
    const open = new Set([...app.querySelectorAll("details[open]")].map((_, n) => n));
    const twin = key && [...fresh.querySelectorAll("[data-key]")].find((one) => one.dataset.key === key);
    if (same && editing && twin) {
      const output = held.closest("form").querySelector("output");
      const newest = twin.closest("form").querySelector("output");
      const form = held.closest("form");
      if (output && newest && held.dataset.sent === held.value) output.textContent = newest.textContent;
      twin.closest("form").replaceWith(form);
    }
    app.replaceChildren(fresh);
    document.title = fresh.dataset.title;
    // What was told stands at the top, and so does what comes next.
    const told = fresh.querySelector(".notice") && fresh.dataset.says && fresh.dataset.says !== before.says;
    if (same && !told) {
      app.querySelectorAll("details").forEach((one, n) => { if (open.has(n)) one.open = true; });
      window.scrollTo(0, scroll);
    } else {
      window.scrollTo(0, 0);
    }
    if (key) {
      const to = editing && same && twin ? held : [...app.querySelectorAll("[data-key]")].find((one) => one.dataset.key === key);
      if (to && same) to.focus({ preventScroll: true });
    }
    if (!same) {
      const title = app.querySelector("h1");
      title.tabIndex = -1;
      title.focus({ preventScroll: true });
    }
    says.textContent = fresh.dataset.says || "";
    ready();
  };

  const post = (fields) => later(() => send(fields).then(draw));

  app.addEventListener("submit", (event) => {
    event.preventDefault();
    const form = event.target;
    flush();
    const fields = Object.fromEntries(new FormData(form));
    if (form.matches(".field, .amount")) return;
    const copies = event.submitter && event.submitter.dataset.copies;
    if (!copies) return post(fields);
    const copy = async () => {
      const answer = await fetch(copies), text = await answer.text();
      if (!answer.ok) throw new Error(text);
      await navigator.clipboard.writeText(text);
    };
    later(() => copy()
      .catch((why) => Object.assign(fields, { outcome: "failed", why: why.message }))
      .then(() => send(fields))
      .then(draw));
  });

  // Texts: the newest one at pauses, and before anything else happens.
  const pending = new Map();
  const write = (input) => {
    const no = Number(input.dataset.no) + 1;
    input.dataset.no = no;
    input.dataset.sent = input.value;
    const range = input.type === "range";
    const fields = range
      ? { event: "slide", key: input.dataset.key, value: input.value, no }
      : { event: "write", key: input.dataset.key, text: input.value, no };
    return later(() => send(fields).then((html) => {
      if (range || input.dataset.search) draw(html);
    }));
  };
  const flush = () => {
    for (const [input, timer] of pending) {
      clearTimeout(timer);
      if (input.dataset.point) dragged(input);
      else write(input);
    }
    pending.clear();
  };
  app.addEventListener("input", (event) => {
    const input = event.target;
    if (!input.dataset.key) return;
    clearTimeout(pending.get(input));
    pending.set(input, setTimeout(() => { pending.delete(input); write(input); }, input.type === "range" ? 80 : 400));
  });
  app.addEventListener("focusout", (event) => { if (pending.has(event.target)) flush(); });
  window.addEventListener("pagehide", flush);

  // The face: a tap, with a loupe beside the finger while it is down.
  let loupe;
  const place = (pad, event) => {
    const box = pad.querySelector("svg").getBoundingClientRect();
    const share = (at, from, size) => Math.min(1, Math.max(0, (at - from) / size));
    return {
      x: share(event.clientX, box.left, box.width) * Number(pad.dataset.width),
      y: share(event.clientY, box.top, box.height) * Number(pad.dataset.height),
      left: event.clientX - box.left, top: event.clientY - box.top, box,
    };
  };
  const show = (pad, event) => {
    const at = place(pad, event);
    if (!loupe) {
      loupe = document.createElement("div");
      loupe.className = "loupe";
      loupe.setAttribute("aria-hidden", "true");
      loupe.append(pad.querySelector("svg").cloneNode(true));
      pad.append(loupe);
    }
    const zoom = 2, size = loupe.clientWidth;
    const picture = loupe.firstChild;
    picture.style.width = at.box.width * zoom + "px";
    picture.style.transform = `translate(${size / 2 - at.left * zoom}px, ${size / 2 - at.top * zoom}px)`;
    loupe.style.left = Math.min(at.box.width - size, Math.max(0, at.left - size / 2)) + "px";
    loupe.style.top = at.top - size - 32 + "px";
  };
  const hide = () => { if (loupe) loupe.remove(); loupe = undefined; };
  app.addEventListener("pointerdown", (event) => {
    const pad = event.target.closest(".pad");
    if (!pad) return;
    pad.setPointerCapture(event.pointerId);
    show(pad, event);
  });
  app.addEventListener("pointermove", (event) => {
    const pad = event.target.closest(".pad");
    if (pad && loupe) show(pad, event);
  });
  app.addEventListener("pointercancel", hide);
  app.addEventListener("pointerup", (event) => {
    const pad = event.target.closest(".pad");
    if (!pad || !loupe) return;
    const at = place(pad, event);
    hide();
    flush();
    post({ event: "touch", key: pad.dataset.touch, x: at.x.toFixed(3), y: at.y.toFixed(3), turn: screen().dataset.turn });
  });

  // A picture: a point is dragged and let go, pressed, or moved by the arrow keys.
  let held;
  const within = (value, from, size) => Math.min(from + size, Math.max(from, value));
  const inside = (event) => {
    const svg = held.point.ownerSVGElement;
    const box = svg.getBoundingClientRect(), of = svg.viewBox.baseVal;
    return {
      x: within(of.x + (event.clientX - box.left) / box.width * of.width + held.dx, of.x, of.width),
      y: within(of.y + (event.clientY - box.top) / box.height * of.height + held.dy, of.y, of.height),
    };
  };
  const put = (point, x, y) => {
    point.setAttribute("transform", `translate(${x} ${y}) scale(${point.closest(".stage").dataset.unit})`);
    point.dataset.x = x;
    point.dataset.y = y;
  };
  const dragged = (point) => {
    const no = Number(point.dataset.no) + 1;
    point.dataset.no = no;
    const { x, y } = point.dataset;
    post({ event: "drag", key: point.closest(".stage").dataset.picture, point: point.dataset.point, x: Number(x).toFixed(2), y: Number(y).toFixed(2), no });
  };
  const chosen = (point) =>
    post({ event: "choose", key: point.closest(".stage").dataset.picture, option: point.dataset.point, turn: screen().dataset.turn });
  const near = (point, event) => {
    const stage = point.closest(".stage");
    const svg = point.ownerSVGElement, box = stage.getBoundingClientRect();
    if (!loupe) {
      loupe = document.createElement("div");
      loupe.className = "loupe";
      loupe.setAttribute("aria-hidden", "true");
      stage.append(loupe);
    }
    loupe.replaceChildren(svg.cloneNode(true));
    const zoom = 2, size = loupe.clientWidth, picture = loupe.firstChild;
    const of = svg.viewBox.baseVal;
    const left = (Number(point.dataset.x) - of.x) / of.width * box.width;
    const top = (Number(point.dataset.y) - of.y) / of.height * box.height;
    picture.style.width = box.width * zoom + "px";
    picture.style.transform = `translate(${size / 2 - left * zoom}px, ${size / 2 - top * zoom}px)`;
    loupe.style.left = Math.min(box.width - size, Math.max(0, event.clientX - box.left - size / 2)) + "px";
    loupe.style.top = event.clientY - box.top - size - 48 + "px";
  };
  app.addEventListener("pointerdown", (event) => {
    const point = event.target.closest(".point");
    if (!point) return;
    event.preventDefault();
    point.focus({ preventScroll: true });
    point.setPointerCapture(event.pointerId);
    held = { point, dx: 0, dy: 0, moved: false, at: [event.clientX, event.clientY] };
    const at = inside(event);
    held.dx = Number(point.dataset.x) - at.x;
    held.dy = Number(point.dataset.y) - at.y;
  });
  app.addEventListener("pointermove", (event) => {
    if (!held) return;
    // A finger that only trembles presses.
    held.moved ||= Math.hypot(event.clientX - held.at[0], event.clientY - held.at[1]) > 4;
    if (!held.moved) return;
    const at = inside(event);
    put(held.point, at.x, at.y);
    near(held.point, event);
  });
  const letGo = (event) => {
    if (!held) return;
    const { point, moved } = held;
    held = undefined;
    hide();
    if (event.type === "pointercancel") return;
    if (moved) dragged(point);
    else chosen(point);
  };
  app.addEventListener("pointerup", letGo);
  app.addEventListener("pointercancel", letGo);
  app.addEventListener("keydown", (event) => {
    const point = event.target.closest(".point");
    if (!point) return;
    const step = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
    if (step) {
      event.preventDefault();
      const of = point.ownerSVGElement.viewBox.baseVal;
      const by = Number(point.closest(".stage").dataset.unit) * (event.shiftKey ? 10 : 1);
      put(point, within(Number(point.dataset.x) + step[0] * by, of.x, of.width), within(Number(point.dataset.y) + step[1] * by, of.y, of.height));
      clearTimeout(pending.get(point));
      pending.set(point, setTimeout(() => { pending.delete(point); dragged(point); }, 600));
    } else if (event.key === "Enter" || event.key === " ") {
      event.preventDefault();
      chosen(point);
    }
  });

  app.addEventListener("change", (event) => {
    const input = event.target;
    if (!input.dataset.upload || !input.files.length) return;
    const file = input.files[0];
    const to = `/upload?effect=${input.dataset.upload}&name=${encodeURIComponent(file.name)}`;
    later(() => fetch(to, { method: "POST", body: file, headers: { "X-Token": screen().dataset.token } }).then(async (answer) => {
      const text = await answer.text();
      if (answer.ok) draw(text);
      else if (answer.status === 413) says.textContent = text;
      else throw new Error(answer.status);
    }));
  });

  app.addEventListener("click", (event) => {
    const more = event.target.closest("[data-more]");
    if (!more) return;
    const list = more.closest("section").querySelector("ul");
    const last = list.lastElementChild.dataset.row;
    const query = new URLSearchParams({ key: more.dataset.more, after: last });
    later(() => fetch("/rows?" + query).then((answer) => answer.text()).then((html) => {
      const count = list.children.length;
      list.insertAdjacentHTML("beforeend", html);
      if (list.children.length === count) more.remove();
    }));
  });

  // A clock carries its end; the page counts.
  let ticking;
  const ready = () => {
    clearInterval(ticking);
    const clocks = [...app.querySelectorAll("[data-ends]")];
    const tick = () => clocks.forEach((clock) => {
      const left = Math.max(0, Math.ceil((Number(clock.dataset.ends) - Date.now()) / 1000));
      clock.querySelector("time").textContent = left > 0 ? left + " s" : "over";
      clock.classList.toggle("over", left === 0);
    });
    if (clocks.length) { tick(); ticking = setInterval(tick, 250); }
    if (screen().dataset.busy) {
      const body = new URLSearchParams({ token: screen().dataset.token });
      later(() => fetch("/work", { method: "POST", body }).then((answer) => answer.text()).then(draw));
    }
  };
  ready();
})();
