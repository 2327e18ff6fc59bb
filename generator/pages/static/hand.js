// The batch in hand on a formula page: started, chosen, resized, ended; its ticks, clocks and readings.
// A batch is kept as the record that the guide describes; a tab shows one of them.
self.ksHand = (bench) => {
  const { page, record, all, one, el, button, fetched } = bench, store = self.ksStore, strip = self.ksStrip;
  const iso = () => new Date().toISOString();
  // The day of the kitchen, whatever zone the phone is set to.
  const today = () => new Intl.DateTimeFormat("sv", { timeZone: record.zone, year: "numeric", month: "2-digit", day: "2-digit" }).format();
  const dayWords = (day) => new Date(`${day}T12:00:00Z`).toLocaleDateString("en-GB", { weekday: "short", day: "numeric", month: "short", year: "numeric", timeZone: "UTC" }).replace(",", "");
  const newId = () => [...crypto.getRandomValues(new Uint8Array(6))].map((n) => n.toString(16).padStart(2, "0")).join("");
  const counted = (n, word) => `${n} ${word}${n === 1 ? "" : "s"}`;
  const place = decodeURIComponent(new URL(".", location.href).pathname).slice(decodeURIComponent(strip.root.pathname).length);

  // Which batch this tab shows: an id, or "none" for a page that is only read.
  const KEY = `ks batch ${record.id}`;
  const chosen = (id) => {
    try {
      if (id === undefined) return sessionStorage[KEY] || "";
      sessionStorage[KEY] = id;
    } catch {}
    return id || "";
  };
  const isOld = (batch) => batch.revision !== record.rev || batch.stamp !== record.stamp;
  // Work that goes on past midnight is not left: only a batch that nobody touched for hours.
  const QUIET = 4 * 3600000;
  const isLeft = (batch) => {
    if (batch.day === today() || batch.going === today()) return false;
    const touched = [batch.started, ...Object.values(batch.ticks).map((t) => t.at), ...batch.readings.map((r) => r.at), ...batch.clocks.map((c) => c.started)];
    const since = Date.now() - Math.max(...touched.map(Date.parse));
    return since < 0 || since > QUIET;
  };

  let going = [], mine = [], batch, asks;
  const doneKeys = () => Object.keys(batch.ticks).filter((key) => batch.ticks[key].done);
  const change = (act) => store.change(batch.id, act);

  // Questions come above the weights; until one is answered the page shows no ticks.
  const ask = el("div.ks-hand-ask");
  ask.setAttribute("role", "status");
  one(".ks-weigh-head").before(ask);
  const question = (words, ...keys) => {
    ask.replaceChildren(...(words ? [el("p", words), ...keys] : []));
  };
  const NAMES = (b) => `Batch ${b.number}${b.who ? ` (${b.who})` : ""}`;
  const pick = () => {
    asks = "";
    const id = chosen(), found = mine.find((b) => b.id === id);
    if (found) return found;
    if (id === "none") return undefined;
    if (mine.length > 1) asks = "which";
    // An address that names another size is for reading it, not for changing a batch.
    else if (mine[0] && bench.asked && mine[0].size !== bench.asked) asks = "other";
    if (mine.length !== 1 || asks) return undefined;
    chosen(mine[0].id); // so that it stays in this tab's hand when another is started
    return mine[0];
  };
  const show = async () => {
    const found = pick();
    batch = undefined;
    if (found && isLeft(found)) asks = "left";
    else if (found && isOld(found)) asks = "old";
    else if (found && bench.only(found.size)) asks = "size";
    else batch = found;
    if (batch && batch.size !== bench.size() && !resizing) await bench.take(batch.size);
    bench.show(batch);
    const held = batch || found;
    bench.hold.replaceChildren(held ? `Batch ${held.number}` : mine[0] ? `Batches (${mine.length})` : "Start a batch");
    bench.hold.classList.toggle("ks-going", Boolean(batch));
    questions(found);
    faces();
    readings();
    paper();
  };
  const choose = (id) => {
    chosen(id);
    return show();
  };
  const questions = (b) => {
    if (asks === "which") return question("Which batch is in your hand?", ...mine.map((m) => button(`${NAMES(m)}: ${m.label}`, () => choose(m.id))), button("None: I only read", () => choose("none")));
    if (asks === "other") return question(`${NAMES(mine[0])} is ${mine[0].label}. This page shows another size.`, button(`Show batch ${mine[0].number}`, () => choose(mine[0].id)));
    if (asks === "left")
      return question(`${NAMES(b)} of ${dayWords(b.day)}: still going?`,
        button("Yes, still going", () => store.change(b.id, (kept) => (kept.going = today()))),
        button("No, it is finished", () => finish(b)),
        button("Start a new batch", () => (chosen("none"), sheetOf("start"))));
    if (asks === "old")
      return question(`${NAMES(b)} was started with revision ${b.revision}. The standard has changed${b.revision === record.rev ? "" : `: this is revision ${record.rev}`}. Its ticks don't count for this page. Its clocks keep their own times.`,
        button("Go on with this page, no ticks", () => store.change(b.id, renew)), button("No, it is finished", () => finish(b)));
    if (asks === "size") return question(`${NAMES(b)} is ${b.label}. This page doesn't make that size any more.`, button("No, it is finished", () => finish(b)));
    question("");
  };
  // Another revision: its ticks are kept beside, and none of them counts.
  const renew = (b) => {
    b.earlier = [...(b.earlier || []), { revision: b.revision, stamp: b.stamp, until: iso(), ticks: b.ticks }];
    [b.revision, b.stamp, b.ticks] = [record.rev, record.stamp, {}];
  };
  const stopAll = (b, at) => {
    b.ended = at;
    b.clocks.forEach((clock) => (clock.stopped ||= at));
  };
  const finish = (b) => store.end(b.id, (kept) => stopAll(kept, iso()));

  // --- the sheet: start, choose, hand over, end
  const sheet = el("dialog.ks-sheet.ks-batches"), inside = el("div");
  sheet.ariaLabel = "Batches";
  sheet.append(inside, button("Close", () => sheet.close()));
  page.append(sheet);
  let then;
  sheet.onclose = () => (then = undefined);
  const field = (words, input, more) => el("label.ks-field", el("span", words), Object.assign(input, more));
  const starting = () => {
    const number = field("Number", el("input"), { type: "text", inputMode: "numeric", placeholder: "next", autocomplete: "off" });
    const day = field("Day", el("input"), { type: "date", value: today() });
    const who = field("Who", el("input"), { type: "text", maxLength: 40, autocomplete: "off", value: bench.stored("ks who") || "" });
    const bad = el("p.ks-reports");
    bad.setAttribute("role", "status");
    const go = button(`Start a batch of ${bench.label()}`, async () => {
      const typed = number.lastChild.value.trim(), name = who.lastChild.value.trim();
      if (typed && !/^[1-9]\d{0,3}$/.test(typed)) return (bad.textContent = `${typed} is not a number of a batch: 1 to 9999.`);
      if (!day.lastChild.value) return (bad.textContent = "Which day?");
      bench.stored("ks who", name);
      const next = then;
      const begun = await store.begin((kept) => made(kept, Number(typed), day.lastChild.value, name));
      if (!begun) return;
      sheet.close();
      await choose(begun.id);
      bench.address();
      if (next) await next();
    }, "ks-button.ks-go");
    inside.replaceChildren(...[el("h2", then ? "First start a batch" : "Start a batch"), el("p", "Ticks, clocks and readings belong to a batch. A new batch starts clean."), go, number, day, who, bad,
      ...mine.map((b) => button(`No, this is ${NAMES(b)}: ${b.label}`, () => (sheet.close(), choose(b.id)))), !then && takeOver()].filter(Boolean));
  };
  const made = (kept, number, day, who) => {
    const same = kept.filter((b) => b.formula === record.id && b.day === day).map((b) => b.number);
    return {
      kind: "kitchen-manual batch", version: 1, id: newId(), formula: record.id, name: record.name, page: place,
      revision: record.rev, stamp: record.stamp, size: bench.size(), label: bench.label(), number: number || Math.max(0, ...same) + 1,
      day, zone: record.zone, ...(who && { who }), started: iso(), ticks: {}, clocks: [], readings: [],
    };
  };
  const entry = (b) => {
    const words = `${strip.named(b)}: ${b.label}${b.who ? `, ${b.who}` : ""}, ${dayWords(b.day)}${b.id === (batch && batch.id) ? " (in hand)" : ""}`;
    return el("li", b.formula === record.id ? button(words, () => (sheet.close(), choose(b.id))) : Object.assign(el("a.ks-button", words), { href: strip.hrefOf(b) }));
  };
  const over = () => fetched("handover.js").then(() => self.ksHandOver({ bench, store, strip, iso, dayWords, NAMES, counted, choose }));
  const takeOver = () => button("Take over: open a batch file", () => over().then((o) => o.open(inside)));
  const listing = () => {
    const b = batch;
    const running = b ? b.clocks.flatMap(strip.waits).length : 0;
    const end = b && button(`End batch ${b.number}`, () => {
      if (running && !end.dataset.sure) return (end.textContent = `${counted(running, "clock")} of it ${running === 1 ? "runs" : "run"}. End it all the same?`), (end.dataset.sure = 1);
      chosen("none");
      finish(b);
      sheet.close();
    });
    const was = el("details.ks-why", el("summary", "Batches that ended"));
    was.ontoggle = () => was.open && over().then((o) => o.ended(was));
    inside.replaceChildren(...[el("h2", "Batches"), b && el("p", `${NAMES(b)}: ${b.label}, ${dayWords(b.day)}. ${counted(doneKeys().length, "tick")}, ${counted(running, "clock")}, ${counted(b.readings.length, "reading")}.`),
      el("ul.ks-plain", going.map(entry)), button("Start another batch", () => sheetOf("start")),
      b && button("Hand it over to another phone", () => over().then((o) => o.give(inside, b))),
      b && button("Record and readings as files", () => over().then((o) => o.file(inside, b))),
      b && button("Print this batch", () => (sheet.close(), print())),
      b && end,
      takeOver(), was].filter(Boolean));
  };
  const sheetOf = (kind) => {
    if (kind === "start") starting();
    else listing();
    if (!sheet.open) sheet.showModal();
  };
  // What needs a batch asks for one first, and is done when there is one.
  const needed = async (act) => {
    if (batch && isLeft(batch)) await refresh();
    if (batch) return act();
    if (asks && asks !== "other") return ask.scrollIntoView({ block: "center" });
    then = act;
    sheetOf("start");
  };

  // --- another size: a tick stays only where the weight stays
  let resizing;
  const resize = async (before) => {
    const ticked = doneKeys(), after = bench.rows(), name = bench.size(), words = bench.label();
    if (name === batch.size) return;
    const take = (keep) => change((b) => {
      [b.size, b.label] = [name, words];
      for (const key in b.ticks) if (b.ticks[key].done && !keep.includes(key)) b.ticks[key] = { at: iso(), done: false };
    });
    if (!ticked.length) return take([]);
    const same = ticked.filter((key) => before[key] && before[key] === after[key]);
    resizing = true;
    await new Promise((answered) => {
      const act = (how) => async () => {
        sheet.onclose = () => (then = undefined);
        await how();
        sheet.close();
        answered();
      };
      const back = () => bench.take(batch.size);
      inside.replaceChildren(...[el("h2", `Make ${words}?`), el("p", `${NAMES(batch)} is ${batch.label} and has ${counted(ticked.length, "tick")}. ${same.length ? `${same.length === 1 ? "1 weight stays" : `${same.length} weights stay`} the same:` : "No weight stays the same."}`),
        same[0] && el("ul", same.map((key) => el("li", after[key]))),
        same[0] && button(`Keep ${counted(same.length, "tick")}${ticked.length > same.length ? `, clear ${ticked.length - same.length}` : ""}`, act(() => take(same))),
        button(`Clear ${ticked.length === 1 ? "the tick" : `all ${ticked.length} ticks`}`, act(() => take([]))), button(`Back to ${batch.label}`, act(back))].filter(Boolean));
      sheet.onclose = act(back); // closed without an answer: nothing changed
      if (!sheet.open) sheet.showModal();
    });
    resizing = false;
    await show();
  };

  // --- clocks
  const start = (spec) => needed(() => change((b) => {
    const now = Date.now(), at = (seconds) => new Date(now + seconds * 1000).toISOString(), other = bench.other();
    // A stage counted from the one before: as if that were reached at once, until a reading shows when.
    const due = spec.due.map(([seconds, words, elsewhere, after, advised]) => ({
      at: at(seconds), words: other ? elsewhere : words, ...(after && { after: seconds }), ...(advised && { advised: true }),
    }));
    b.clocks.push({ id: newId(), key: spec.key, kind: spec.kind, ...(spec.limit && { limit: spec.limit }), ...(spec.step && { step: spec.step }), anchor: spec.anchor, name: spec.name, revision: record.rev, started: iso(), due });
    if (spec.reads) b.readings.push({ id: newId(), at: iso(), ...(spec.step && { step: spec.step }), limit: spec.limit, clock: b.clocks.at(-1).id, probe: "1", value: spec.reads[other === (record.degree === "C") ? 1 : 0], unit: other === (record.degree === "C") ? "°F" : "°C", verdict: "clock started", law: "cannot tell" });
  }));
  // Each load cools by its own clock: those of a key that still wait for something.
  const runningOf = (spec) => (batch ? batch.clocks.filter((clock) => clock.key === spec.key && strip.waits(clock)[0]) : []);
  const onClock = (id, act) => change((b) => act(b.clocks.find((clock) => clock.id === id)));
  let live = [];
  const face = (box, clock, number) => {
    const waits = strip.waits(clock), add = (...nodes) => box.append(...nodes);
    if (number) add(el("span.ks-face.ks-old", `Clock ${number}, from ${strip.when(Date.parse(clock.started))}`));
    clock.due.forEach((due, i) => {
      const wait = waits.find((one) => one.i === i), words = el("span.ks-face");
      add(words);
      if (!wait) return (words.textContent = due.reached ? `${due.words}: read at ${strip.when(Date.parse(due.reached))}` : `${due.words} was due at ${strip.when(Date.parse(due.at))}: seen`);
      const seen = button("Seen", () => onClock(clock.id, (kept) => (kept.due[i].seen = iso())), "ks-button.ks-face");
      add(seen);
      live.push(() => {
        const past = wait.ms <= Date.now();
        words.textContent = strip.words(clock, wait);
        words.classList.toggle("ks-late", past);
        seen.hidden = !past;
      });
    });
    if (clock.revision !== record.rev) add(el("span.ks-face.ks-old", `Started with revision ${clock.revision}: these times are its own.`));
    const stop = button("Stop", () => {
      if (clock.kind === "deadline" && !stop.dataset.sure) return (stop.textContent = "The law runs this clock. Stop it?"), (stop.dataset.sure = 1);
      onClock(clock.id, (kept) => (kept.stopped = iso()));
    }, "ks-button.ks-face");
    live.push(() => (stop.hidden = clock.kind !== "deadline" && waits.every((one) => one.ms <= Date.now())));
    add(stop);
  };
  const faces = () => {
    live = [];
    bench.clocks.forEach(({ spec, box, start: key }) => {
      all(".ks-face", box).forEach((old) => old.remove());
      const running = runningOf(spec), again = spec.kind === "deadline" && batch && running[0];
      key.hidden = Boolean(running[0] && !again);
      key.classList.toggle("ks-again", Boolean(again));
      running.forEach((clock, n) => face(box, clock, running[1] && n + 1));
      box.append(key); // what runs comes first
    });
    beat();
  };
  const beat = () => live.forEach((act) => act());
  setInterval(beat, 1000);

  // --- readings
  const line = (r) => `${strip.when(Date.parse(r.at))} · probe ${r.probe} · ${r.value} ${r.unit}: ${r.verdict}`;
  const readings = () => bench.readings.forEach(({ limit, list }) => {
    const own = batch ? batch.readings.filter((r) => r.limit === limit.id) : [];
    list.replaceChildren(...own.map((r) => {
      const node = el(r.struck ? "li.ks-struck" : "li", el("span", line(r)));
      if (!r.struck) node.append(button("Typed wrong", () => change((b) => {
        b.readings.find((one) => one.id === r.id).struck = iso();
        // What it had shown, it shows no more.
        b.clocks.forEach((clock) => clock.due.forEach((due, i) => {
          if (due.by !== r.id) return;
          delete due.reached;
          delete due.by;
          const next = clock.due[i + 1];
          if (next && next.after) next.at = new Date(Date.parse(clock.started) + next.after * 1000).toISOString();
        }));
      }), "ks-undo"));
      return node;
    }));
  });
  let pad;
  const read = (limit, name, at) => needed(async () => {
    await fetched("reading.js");
    pad ||= self.ksReading({ bench, strip, iso, newId, change, batch: () => batch });
    pad.open(limit, name, at);
  });

  // --- on paper: what the page's own print can't show
  const paper = () => {
    all(".ks-paper-batch").forEach((old) => old.remove());
    if (!batch) return;
    const time = (at) => strip.when(Date.parse(at)), rows = { ...bench.rows(), ...Object.fromEntries(all(".ks-step").map((s) => [`d${s.id.slice(5)}`, `${one(".ks-step-no", s).textContent} ${ksSaid(one("h3", s))}`])) };
    const table = (head, lines) => lines[0] && el("table", el("thead", el("tr", head.map((h) => el("th", h)))), el("tbody", lines.map((cells) => el("tr", cells.map((cell) => el("td", cell || ""))))));
    one("h1").after(el("section.ks-paper-batch", ...[el("h2", `${NAMES(batch)}: ${batch.label}, ${dayWords(batch.day)}`), el("p", `${record.id}, revision ${batch.revision}. Started ${time(batch.started)}.`),
      table(["Done", "At"], doneKeys().map((key) => [rows[key] || key, time(batch.ticks[key].at)])),
      table(["Clock", "Started", "Due"], batch.clocks.map((c) => [c.name, time(c.started), c.due.map((d) => `${d.words} by ${time(d.at)}${d.reached ? `, read ${time(d.reached)}` : ""}`).join("; ")])),
      table(["Reading", "At", "Probe", "Verdict"], batch.readings.filter((r) => !r.struck).map((r) => [`${r.value} ${r.unit}`, time(r.at), r.probe, r.verdict]))].filter(Boolean)));
  };

  const refresh = async () => {
    going = (await store.all()).sort((a, b) => (a.started < b.started ? -1 : 1));
    mine = going.filter((b) => b.formula === record.id);
    await show();
    if (sheet.open && !resizing && inside.firstChild && ksSaid(inside.firstChild) === "Batches") listing();
  };
  store.hear(refresh);
  document.addEventListener("visibilitychange", () => document.hidden || refresh());
  const ready = (async () => {
    if (bench.wanted) {
      chosen(bench.wanted);
      bench.address();
    }
    await refresh();
    bench.firstOpen();
    const given = /^#batch=(.+)/.exec(location.hash);
    if (!given) {
      // An address with a place on the page: what came in above it has moved it.
      const to = bench.wanted && location.hash && document.getElementById(location.hash.slice(1));
      if (to) to.scrollIntoView();
      return;
    }
    await over().then((o) => o.given(inside, given[1]));
    if (!sheet.open) sheet.showModal();
  })();
  const after = (act) => (...args) => ready.then(() => act(...args));
  return {
    begin: () => ready,
    open: after(() => sheetOf(batch || going[0] ? "list" : "start")),
    tick: after((key, done) => needed(async () => {
      await change((b) => (b.ticks[key] = { at: iso(), done }));
    })),
    clear: after(() => change((b) => {
      for (const key in b.ticks) if (b.ticks[key].done) b.ticks[key] = { at: iso(), done: false };
    })),
    resize: after(resize),
    start: after(start),
    read: after(read),
    needed: after(needed),
  };
};
