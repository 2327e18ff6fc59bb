// At the bench: ticks, clocks and readings of a batch, a screen that stays on, the other units.
// Without it, or where nothing may be kept, the page works as before. Nothing is sent.
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
  // The rest of the script comes when it is asked for, each file once.
  const scripts = (self.ksScripts ||= {});
  const fetched = (name) => (scripts[name] ||= new Promise((onload, onerror) =>
    document.head.append(Object.assign(el("script"), { src: new URL(name, src), async: false, onload, onerror }))));

  // The size picked, as in the address: "fills=8".
  const names = record.sizes.map((size) => size.join("="));
  // A page of very many sizes shows them all and has no picker: the size is that of the row ticked.
  let custom, customLabel, ofRow;
  const picked = () => ofRow || (one(".ks-pick:checked") || { id: "s0" }).id.slice(1);
  const size = () => names[picked()] || custom;
  const label = () => (record.labels[picked()] || customLabel || "").replace(/\u00a0/g, " ");

  // A tick is named after its row, not after the size: "w-0-3" is load 1, row 3.
  const keyOf = (id) => id.replace(/^([wv])[^-]*-/, "$1-");
  const shown = () => all(`.ks-for-${picked()} .ks-tick`);
  const rows = () => Object.fromEntries(shown().map((tick) => {
    const row = tick.parentElement;
    return [keyOf(tick.id), `${ksSaid(one(".ks-name", row))}: ${ksSaid(one(".ks-num", row))}`];
  }));
  let batch;
  const done = (key) => Boolean(batch && batch.ticks[key] && batch.ticks[key].done);
  const count = () => (batch ? Object.values(batch.ticks).filter((tick) => tick.done).length : 0);
  const show = () => {
    all(".ks-tick").forEach((tick) => (tick.checked = false));
    [...shown(), ...all(".ks-step .ks-tick")].forEach((tick) => (tick.checked = done(keyOf(tick.id))));
    all("[data-for]").forEach((box) => (box.checked = document.getElementById(box.dataset.for).checked));
    all(".ks-step").forEach(fold);
    clear.hidden = !count();
    clear.textContent = `Clear ticks (${count()})`;
    dispatchEvent(new Event("change"));
  };
  // A step that is done folds to its head; its name opens it again.
  const fold = (step) => {
    const tick = one(".ks-step-head > .ks-tick", step), head = one("h3", step);
    if (step.dataset.done === String(tick.checked)) return;
    step.dataset.done = tick.checked;
    step.classList.remove("ks-again-open");
    const text = head.textContent;
    if (!tick.checked) return head.replaceChildren(text);
    const key = button(text, () => (key.ariaExpanded = step.classList.toggle("ks-again-open")), "ks-reopen");
    key.ariaExpanded = false;
    head.replaceChildren(key);
  };
  const firstOpen = () => {
    const load = all(`.ks-for-${picked()} .ks-load`).find((l) => one(".ks-tick:not(:checked)", l));
    const pick = load && one(`.ks-lpick-${load.className.split("-").pop()}`, load.parentElement);
    if (pick) pick.checked = true;
  };
  const address = () => {
    try {
      history.replaceState(null, "", `?${new URLSearchParams([size().split(/=(.*)/s, 2)])}${location.hash}`);
    } catch {} // a page read from a stick keeps its address
  };
  // The batch in hand is kept by hand.js; here are its ticks alone.
  let hand;
  const hands = () => (hand ||= Promise.all(["store.js", "strip.js", "hand.js"].map(fetched)).then(() => self.ksHand(bench)));
  const clear = button("", () => hands().then((h) => h.clear()));
  // A size that was picked: a batch in hand asks what becomes of its ticks.
  let before = {};
  const change = async () => {
    if (batch) await hands().then((h) => h.resize(before));
    before = rows();
    address();
    show();
  };
  page.addEventListener("change", ({ target }) => {
    if (target.matches(".ks-pick")) return change();
    const tick = target.dataset.for ? document.getElementById(target.dataset.for) : target;
    if (!tick.matches(".ks-tick")) return;
    const now = target.checked, [, of = picked()] = /^[wv](\w+)-/.exec(tick.id.replace(/-.*/, "-")) || [];
    if (of !== picked()) {
      if (picker) return show();
      ofRow = of;
      if (batch) return change();
    }
    tick.checked = batch ? now : false;
    if (!batch) show();
    hands().then((h) => h.tick(keyOf(tick.id), now));
  });

  // Clocks: of a step's time, of a hold, and those a limit sets. Each starts when somebody says so.
  const nameOf = (step, limit) => (step ? `${one(".ks-step-no", step).textContent} ${ksSaid(one("h3", step))}` : limit.name);
  const clocks = [];
  const clock = (at, facts) => {
    const step = at.closest(".ks-step"), spec = { ...facts, anchor: step ? step.id : "store", step: step && Number(step.id.slice(5)) };
    const start = button("", () => hands().then((h) => h.start(spec))), box = el("div.ks-timer", start);
    start.append(el("span", ...spec.does));
    clocks.push({ spec, box, start });
    return box;
  };
  const readings = [];
  const limits = all(".ks-limit[data-limit]").map((at) => [at, JSON.parse(at.dataset.limit)]);
  const alt = (words, other) => {
    const node = el("span", words);
    if (other !== words) node.dataset.alt = other;
    return node;
  };
  all("[data-timer]").forEach((at, i) => {
    const of = at.closest(".ks-limit"), step = at.closest(".ks-step"), limit = of && limits.find((one) => one[0] === of);
    const seconds = Number(at.dataset.timer), words = ksSaid(at);
    const box = clock(at, {
      key: `${step ? step.id : "store"} ${i}`, kind: of ? "hold" : "time", limit: limit && limit[1].id, name: nameOf(step, limit && limit[1]),
      does: [`Start ${words}`], due: [[seconds, words, words, 0]],
    });
    // The key says the time; on paper the words do.
    if (at.matches("dd")) {
      at.replaceChildren(el("span.ks-said", words));
      at.parentElement.classList.add("ks-clocked");
    }
    const before = at.matches("dd") && all(".ks-target > div:not(.ks-clocked)", step).length < 2 && one(".ks-do", at.closest(".ks-step-text"));
    // It stands beside the words: two figures at least, the first thing to do, or the limit's own.
    if (before) before.before(box);
    else at.closest("dd").prepend(box);
  });
  limits.forEach(([at, limit]) => {
    const step = at.closest(".ks-step"), name = nameOf(step, { name: `Store, ${limit.name}` }), place = el("div.ks-at-bench");
    const keys = (limit.clocks || []).map(({ id, do: does, at: reads, due }) => clock(at, {
      key: `${limit.id} ${id}`, kind: "deadline", limit: limit.id, name, reads, due, does: [alt(...does), ": start"],
    }));
    // What starts the clock is said by its key; on paper by the words.
    const begins = one(".ks-start > dd", at), under = begins && el("div.ks-at-start");
    if (begins) begins.append(under);
    (under || place).append(...keys);
    if (limit.reads) {
      const list = el("ol.ks-read"), key = button("Reading", () => hands().then((h) => h.read(limit, name, (at.dataset.as && document.getElementById(at.dataset.as)) || at)));
      readings.push({ limit, list });
      place.append(list);
      // It stands beside the one figure or the clock's key, or floats beside what to check.
      const figures = all(".ks-fig", at), words = figures.length === 1 && ksSaid(one(".ks-words", at));
      if (words && words.length < 17) figures[0].after(key);
      else if (under) under.append(key);
      else (one(".ks-check > dd", at) || place).prepend(key);
    }
    at.append(place);
  });

  // The screen kept on, and the other units: only when asked for.
  const tools = one(".ks-tools");
  const press = (text, act) => {
    const key = button(text, () => act(key.ariaPressed !== "true"));
    key.ariaPressed = "false";
    tools.append(key);
    return key;
  };
  const hold = button("Start a batch", () => hands().then((h) => h.open()), "ks-button.ks-holds");
  let wake;
  if (navigator.wakeLock) {
    let lock;
    const ask = () => wake.ariaPressed === "true" && document.visibilityState === "visible" &&
      navigator.wakeLock.request("screen").then((l) => (lock = l), () => (wake.ariaPressed = "false"));
    wake = press("Screen on", (on) => {
      wake.ariaPressed = on;
      if (!ask() && lock) lock.release();
    });
    document.addEventListener("visibilitychange", ask);
  }
  const stored = (key, value) => {
    try {
      if (value === undefined) return localStorage.getItem(key);
      localStorage.setItem(key, value);
    } catch {}
  };
  const swap = (root) => all("[data-alt]", root).forEach((node) => ([node.textContent, node.dataset.alt] = [node.dataset.alt, ksSaid(node)]));
  const units = press(page.dataset.other, (on) => {
    units.ariaPressed = on;
    stored("ks units", on ? "other" : "");
    page.classList.toggle("ks-other", on);
    one(".ks-stays").hidden = !on;
    swap();
    all(".md-nav--secondary", document).forEach((list) => swap(list));
  });
  one(".ks-foot").before(clear);
  // One thing a screen, and the way to each limit.
  let screens;
  const screen = () => (screens ||= fetched("next.js").then(() => self.ksNext(bench, hands)));
  one(".ks-one-way").append(hold, button("One at a time", () => hands().then((h) => h.needed(() => screen().then((s) => s.open())))));
  one(".ks-bar-limits").addEventListener("click", (event) => {
    event.preventDefault();
    screen().then((s) => s.limits());
  });

  // Any other size.
  let sheet;
  const sizes = () => (sheet ||= fetched("batch.js").then(() => fetched("size.js")).then(() => self.ksSize({
    page, record, all, one, el, count, change,
    named: (name, words) => ([custom, customLabel] = [name, words]),
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
  const OTHER = /^(total|base|yield|fills|portions|have)=/;
  /** Show a size by its name in the address; false for one that this page doesn't make. */
  const take = async (name) => {
    const at = names.indexOf(name);
    if (at >= 0) {
      if (picker) one(`#s${at}`).checked = true;
      else ofRow = String(at);
    } else if (picker && !record.only && OTHER.test(name)) {
      await sizes().then((s) => s.take(name));
    } else return false;
    before = rows();
    show();
    return true;
  };
  const query = new URLSearchParams(location.search), wanted = query.get("batch"), asked = wanted ? "" : [...query].map((pair) => pair.join("="))[0];
  const bench = {
    page, record, all, one, el, button, alt, rows, size, label, take, address, clocks, readings, fetched, hold, stored, wanted, asked,
    only: (name) => record.only && !names.includes(name),
    show(kept) {
      batch = kept;
      show();
    },
    firstOpen, keyOf, wake,
    shown: () => `.ks-for-${picked()}`,
    other: () => units.ariaPressed === "true",
  };
  before = rows();
  if (asked && record.only && OTHER.test(asked) && !names.includes(asked)) {
    one(".ks-only").classList.add("ks-off");
    one(".ks-gives").prepend(one(".ks-only"));
  }
  const sized = asked ? take(asked) : Promise.resolve();
  sized.then(() => (show(), firstOpen()));
  if (stored("ks units")) units.click();
  // Batches are looked for only where some were ever kept: asking makes no empty store.
  const look = () => hands().then((h) => h.begin());
  try {
    const ask = indexedDB.open("ks");
    ask.onupgradeneeded = () => ask.transaction.abort();
    ask.onerror = (event) => event.preventDefault();
    ask.onsuccess = () => {
      ask.result.close();
      sized.then(look);
    };
  } catch {}
  if (wanted || /^#batch=/.test(location.hash)) sized.then(look);
})();
