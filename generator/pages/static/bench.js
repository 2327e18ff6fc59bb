// At the bench: ticks that last, clocks for times and holds, a screen that stays on, the other units.
// Without it, or where nothing may be stored, the page works as before. Nothing is sent.
(() => {
  const page = document.querySelector(".ks-formula[data-batch]");
  if (!page) return;
  const { src } = document.currentScript, record = JSON.parse(page.dataset.batch);
  const all = (selector, root = page) => [...root.querySelectorAll(selector)];
  const one = (selector, root = page) => root.querySelector(selector);
  // el("p.ks-note", "words", el("b", "bold")): an element with its classes and what is in it.
  const el = (tag, ...children) => {
    const [name, ...cls] = tag.split("."), node = document.createElement(name);
    node.className = cls.join(" ");
    node.append(...children.flat().filter((child) => child || child === 0));
    return node;
  };
  const button = (text, act, cls = "ks-button") => Object.assign(el("button." + cls, text), { type: "button", onclick: act });
  const foot = one(".ks-foot p");

  // What is kept on this phone, for this revision alone.
  const place = "ks " + location.pathname.replace(/index\.html$/, "");
  const stored = (key, value) => {
    try {
      if (value === undefined) return localStorage.getItem(key);
      localStorage.setItem(key, value);
    } catch (e) {
      foot.dataset.kept = "This phone can’t keep ticks for this page.";
    }
  };
  let state = {};
  try {
    state = JSON.parse(stored(place) || "{}");
  } catch (e) {}
  if (state.rev !== record.rev) state = { rev: record.rev, ticks: {}, clocks: {} };
  const save = () => stored(place, JSON.stringify(state));

  // The size picked, as in the address: "fills=8".
  const names = record.sizes.map((size) => size.join("="));
  let custom;
  const picked = () => (one(".ks-pick:checked") || { id: "s0" }).id.slice(1);
  const size = () => names[picked()] || custom;

  // Ticks, by size. The desk's tick columns are the ticks of the other loads.
  const count = () => Object.values(state.ticks).flat().length;
  const show = () => {
    const ticks = state.ticks[size()] || [];
    all(".ks-tick").forEach((t) => (t.checked = ticks.includes(t.id)));
    all("[data-for]").forEach((box) => (box.checked = ticks.includes(box.dataset.for)));
    clear.hidden = !count();
    clear.textContent = `Clear ticks (${count()})`;
    dispatchEvent(new Event("change"));
  };
  const firstOpen = () => {
    const load = all(`.ks-for-${picked()} .ks-load`).find((l) => one(".ks-tick:not(:checked)", l));
    const pick = load && one(`.ks-lpick-${load.className.split("-").pop()}`, load.parentElement);
    if (pick) pick.checked = true;
  };
  const change = (ticks) => {
    state.at = size();
    state.ticks = ticks || state.ticks;
    try {
      history.replaceState(null, "", `?${new URLSearchParams([state.at.split(/=(.*)/s, 2)])}${location.hash}`);
    } catch (e) {} // a page read from a stick keeps its address
    save();
    show();
  };
  const clear = button("", () => change({}));
  page.addEventListener("change", ({ target }) => {
    if (target.matches(".ks-pick")) return change();
    if (target.dataset.for) document.getElementById(target.dataset.for).checked = target.checked;
    else if (!target.matches(".ks-tick")) return;
    change({ ...state.ticks, [size()]: all(".ks-tick:checked").map((t) => t.id) });
  });

  // Clocks count to a time of day, so that a reload or a sleeping phone loses nothing.
  const alarm = el("p.ks-hide"), link = el("a.ks-clock");
  alarm.setAttribute("role", "alert");
  page.append(alarm, link);
  const two = (n) => String(n).padStart(2, "0");
  const left = (ms) => {
    const s = Math.ceil(ms / 1000), m = Math.floor(s / 60);
    return `${m < 60 ? m : `${Math.floor(m / 60)}:${two(m % 60)}`}:${two(s % 60)}`;
  };
  const ring = (words) => {
    alarm.textContent = words;
    if (navigator.vibrate) navigator.vibrate([600, 200, 600, 200, 600]);
    try {
      const sound = new AudioContext(), tone = sound.createOscillator();
      tone.connect(sound.destination);
      tone.start();
      tone.stop(sound.currentTime + 1.5);
    } catch (e) {}
  };
  const UP = "Time is up. Check the food.";
  const clocks = all("[data-timer]").map((at, i) => {
    const step = at.closest(".ks-step"), words = at.textContent;
    const name = `${one(".ks-step-no", step).textContent} ${one("h3", step).textContent}`, id = `${step.id} ${i}`;
    const set = (end) => {
      state.clocks[id] = end;
      save();
      tick();
      (end ? stop : start).focus();
    };
    const face = el("span"), start = button(`Start ${words}`, () => set(Date.now() + at.dataset.timer * 1000)), stop = button("", () => set());
    const box = el("div.ks-timer", face, start, stop);
    let rung = state.clocks[id] < Date.now();
    at.closest("dd").append(box);
    return () => {
      const end = state.clocks[id], rest = end - Date.now(), up = rest <= 0, at = new Date(end);
      start.hidden = end;
      stop.hidden = face.hidden = !end;
      box.classList.toggle("ks-up", up);
      face.textContent = up ? UP : `${left(rest)} left, until ${at.getHours()}:${two(at.getMinutes())}`;
      stop.textContent = up ? "Seen" : "Stop";
      if (up && !rung) ring(`${name}: ${UP}`);
      rung = up;
      return end && { end, up, step, text: `${name}: ${up ? "time is up" : left(rest)}` };
    };
  });
  const tick = () => {
    const next = clocks.map((run) => run()).filter(Boolean).sort((a, b) => a.end - b.end)[0];
    link.hidden = !next;
    if (!next) return;
    link.classList.toggle("ks-up", next.up);
    link.textContent = next.text;
    link.href = `#${next.step.id}`;
  };
  setInterval(tick, 1000);

  // The screen kept on, and the other units: only when asked for.
  const tools = one(".ks-tools");
  const press = (text, act) => {
    const key = button(text, () => act(key.ariaPressed !== "true"));
    key.ariaPressed = "false";
    tools.append(key);
    return key;
  };
  if (navigator.wakeLock) {
    let lock;
    const ask = () => wake.ariaPressed === "true" && document.visibilityState === "visible" &&
      navigator.wakeLock.request("screen").then((l) => (lock = l), () => (wake.ariaPressed = "false"));
    const wake = press("Keep screen on", (on) => {
      wake.ariaPressed = on;
      if (!ask() && lock) lock.release();
    });
    document.addEventListener("visibilitychange", ask);
  }
  const swap = (root) => all("[data-alt]", root).forEach((node) => ([node.textContent, node.dataset.alt] = [node.dataset.alt, node.textContent]));
  const units = press(page.dataset.other, (on) => {
    units.ariaPressed = on;
    stored("ks units", on ? "other" : "");
    page.classList.toggle("ks-other", on);
    swap();
  });
  one(".ks-foot").before(clear);

  // Any other size: the rest of the script comes when it is asked for.
  let sheet;
  const fetched = (name) => new Promise((onload, onerror) =>
    document.head.append(Object.assign(el("script"), { src: src.replace(/bench\.js.*/, name), onload, onerror })));
  const sizes = () => (sheet ||= fetched("batch.js").then(() => fetched("size.js")).then(() => self.ksSize({
    page, record, all, one, el, count, change,
    named: (name) => (custom = name),
    dress: (root) => units.ariaPressed === "true" && swap(root),
  })));
  if (one(".ks-dough")) fetched("dough.js").then(() => self.ksDough(one(".ks-dough"), el));
  const picker = one(".ks-sizes"), open = () => sizes().then((s) => s.open());
  if (picker && !record.only) {
    one(".ks-other-size").onclick = open;
    one(".ks-bar-size").addEventListener("click", (event) => {
      event.preventDefault();
      open();
    });
  }
  const asked = [...new URLSearchParams(location.search)].map((pair) => pair.join("="))[0];
  const start = asked || (state.ticks[state.at] && state.at), at = names.indexOf(start);
  if (picker && at >= 0) one(`#s${at}`).checked = true;
  else if (picker && /^(total|base|yield|fills|portions|have)=/.test(start)) {
    if (record.only) one(".ks-only").classList.add("ks-off");
    else sizes().then((s) => s.take(start)).then(() => (show(), firstOpen()));
  }
  show();
  firstOpen();
  if (stored("ks units")) units.click();
  tick();
})();
