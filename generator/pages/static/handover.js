// A batch given to another phone: as a code its camera reads, or as a file. The code holds the address of
// this page with the record behind "#", which no browser sends to a server. Nothing goes by itself.
self.ksHandOver ||= ({ bench, store, strip, iso, dayWords, NAMES, counted, choose }) => {
  const { record, el, button, fetched } = bench;
  const MOST_CODE = 1400, MOST_FILE = 500000;
  const packed = async (text) => {
    const stream = new Blob([text]).stream().pipeThrough(new CompressionStream("deflate-raw"));
    const bytes = new Uint8Array(await new Response(stream).arrayBuffer());
    return btoa(String.fromCharCode(...bytes)).replace(/\+/g, "-").replace(/\//g, "_").replace(/=+$/, "");
  };
  const unpacked = async (code) => {
    const bytes = Uint8Array.from(atob(code.replace(/-/g, "+").replace(/_/g, "/")), (c) => c.charCodeAt(0));
    return new Response(new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate-raw"))).text();
  };
  const nameOf = (b) => `${b.formula}-${b.day}-${b.number}`;
  // A file goes where the person sends it: the phone's own share sheet, or its downloads.
  const send = async (name, text, type) => {
    const file = new File([text], name, { type });
    if (navigator.canShare && navigator.canShare({ files: [file] })) {
      try {
        return await navigator.share({ files: [file] });
      } catch (fault) {
        if (fault.name === "AbortError") return;
      }
    }
    const link = Object.assign(el("a"), { href: URL.createObjectURL(file), download: name });
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60000);
  };
  const asFile = (b) => send(`${nameOf(b)}.json`, `${JSON.stringify(b, null, 1)}\n`, "application/json");

  // Readings of one limit as `review` reads them; where both scales are in use, all in °F, exactly.
  const number = (text) => text.replace(",", ".").replace("−", "-");
  const fahrenheit = (text) => {
    const [, minus, whole, part = ""] = /^(-?)(\d+)\.?(\d*)$/.exec(number(text)), d = 10n ** BigInt(part.length + 1);
    const n = BigInt(minus + whole + part) * 18n + 32n * d, digits = String(n < 0n ? -n : n).padStart(part.length + 2, "0");
    return `${n < 0n ? "-" : ""}${digits.slice(0, -part.length - 1)}.${digits.slice(-part.length - 1)}`.replace(/\.?0+$/, "");
  };
  const table = (readings) => {
    const mixed = new Set(readings.map((r) => r.unit)).size > 1, f = mixed || readings[0].unit === "°F";
    const cell = (r) => (mixed && r.unit === "°C" ? fahrenheit(r.value) : number(r.value));
    // Two loads cool by two clocks: their readings are two courses.
    const clocks = [...new Set(readings.map((r) => r.clock).filter(Boolean))];
    const named = (r) => (clocks[1] && r.clock ? `${r.probe} of clock ${clocks.indexOf(r.clock) + 1}` : r.probe);
    return `time,probe,temp_${f ? "f" : "c"}\n${readings.map((r) => `${r.at},${named(r)},${cell(r)}\n`).join("")}`;
  };
  const files = (inside, b) => {
    const live = b.readings.filter((r) => !r.struck), limits = [...new Set(live.map((r) => r.limit))];
    inside.replaceChildren(el("h2", `${NAMES(b)}: files`), el("p", "A file is kept or sent where you choose. Nothing goes by itself."), button("The whole record (JSON)", () => asFile(b)),
      ...limits.map((id) => {
        const own = live.filter((r) => r.limit === id), [, step, hazard] = id.split("/");
        return button(`Readings of ${step}, ${hazard.replace(/_/g, " ")} (CSV)`, () => send(`${nameOf(b)}-${step}-${hazard}.csv`, table(own), "text/csv"));
      }));
  };

  // A record from outside is looked at whole before it is kept.
  const text = (value, most = 200) => typeof value === "string" && value.length > 0 && value.length <= most;
  const stamp = (value) => text(value, 40) && !Number.isNaN(Date.parse(value));
  const maybe = (value, ok) => value === undefined || ok(value);
  const list = (value, most, ok) => Array.isArray(value) && value.length <= most && value.every((one) => one && typeof one === "object" && ok(one));
  const whole = (value) => Number.isInteger(value) && value > 0;
  const due = (d) => stamp(d.at) && text(d.words) && maybe(d.reached, stamp) && maybe(d.seen, stamp) && maybe(d.after, whole);
  const clock = (c) => [c.id, c.key, c.anchor, c.name].every((one) => text(one)) && ["deadline", "hold", "time"].includes(c.kind) && stamp(c.started) && maybe(c.stopped, stamp) && list(c.due, 9, due);
  const reading = (r) => stamp(r.at) && [r.id, r.limit, r.probe, r.verdict, r.law].every((one) => text(one)) && /^-?\d{1,4}([.,]\d{1,6})?$/.test(r.value) && ["°C", "°F"].includes(r.unit) && maybe(r.struck, stamp);
  const ticks = (value) => value && typeof value === "object" && Object.entries(value).every(([key, tick]) => /^[a-z][\w-]{0,30}$/.test(key) && tick && stamp(tick.at) && typeof tick.done === "boolean");
  const sound = (b) => /^[0-9a-f]{12}$/.test(b.id) && [b.formula, b.name, b.size, b.label, b.zone, b.stamp].every((one) => text(one)) && /^([\w-]+\/)*$/.test(b.page) && whole(b.revision) && whole(b.number) && /^\d{4}-\d\d-\d\d$/.test(b.day) &&
    maybe(b.who, (who) => text(who, 60)) && stamp(b.started) && maybe(b.ended, stamp) && ticks(b.ticks) && list(b.clocks, 500, clock) && list(b.readings, 5000, reading);
  const read = (words) => {
    let b;
    try {
      b = JSON.parse(words);
    } catch {}
    if (!b || b.kind !== "kitchen-manual batch") throw Error("This is no batch of a kitchen manual.");
    if (b.version !== 1) throw Error("This batch is from a newer manual. Open the manual's new copy first.");
    if (!sound(b)) throw Error("This batch is damaged. Hand it over again.");
    return b;
  };
  // Two copies of one batch become one: the later word on a tick counts, no clock and no reading is lost.
  const merged = (a, b) => {
    const before = new Map(a.map((one) => [one.id, one]));
    b.forEach((one) => before.set(one.id, { ...before.get(one.id), ...one, ...(one.due && before.has(one.id) && { due: one.due.map((d, i) => ({ ...before.get(one.id).due[i], ...d })) }) }));
    return [...before.values()];
  };
  const join = (a, b) => {
    // The standard or the size was changed on one of them: the copy that was changed last is the batch.
    const last = (one) => [one.started, ...Object.values(one.ticks).map((t) => t.at), ...one.readings.map((r) => r.at)].sort().at(-1);
    const [older, newer] = last(a) > last(b) ? [b, a] : [a, b], same = older.size === newer.size && older.stamp === newer.stamp;
    const all = same ? { ...older.ticks } : {};
    Object.entries(newer.ticks).forEach(([key, tick]) => all[key] && all[key].at > tick.at || (all[key] = tick));
    const one = { ...older, ...newer, ticks: all, clocks: merged(older.clocks, newer.clocks), readings: merged(older.readings, newer.readings) };
    if (!same) one.earlier = [...(newer.earlier || []), { revision: older.revision, stamp: older.stamp, until: iso(), ticks: older.ticks }];
    // It goes on where one copy goes on, unless that copy is from before the other was ended by hand.
    const over = [[a, b], [b, a]].find(([mine, other]) => mine.ended && !mine.handed && (other.ended || last(other) <= mine.ended));
    if (over) one.ended = over[0].ended;
    else delete one.ended;
    delete one.handed;
    return one;
  };
  const offered = (inside, words) => {
    let b;
    try {
      b = read(words);
    } catch (fault) {
      return inside.replaceChildren(el("h2", "Not taken over"), el("p", fault.message));
    }
    const done = Object.values(b.ticks).filter((tick) => tick.done).length;
    inside.replaceChildren(el("h2", `Take over ${NAMES(b)[0].toLowerCase()}${NAMES(b).slice(1)}?`), el("p", `${b.name}: ${b.label}, ${dayWords(b.day)}. ${counted(done, "tick")}, ${counted(b.clocks.flatMap(strip.waits).length, "clock")}, ${counted(b.readings.length, "reading")}.`),
      button("Take it over", async () => {
        const kept = await store.take(b, join);
        if (!kept) return;
        inside.closest("dialog").close();
        if (b.formula !== record.id) location.href = strip.hrefOf(b);
        else if (!kept.ended) choose(b.id);
      }, "ks-button.ks-go"));
  };
  return {
    file: files,
    async give(inside, b) {
      const at = location.href.split(/[?#]/)[0], address = `${at}#batch=${await packed(JSON.stringify(b))}`;
      const fits = address.length <= MOST_CODE && location.protocol !== "file:";
      const paper = el("canvas.ks-qr");
      if (fits) {
        await fetched("qr.js");
        const rows = self.ksQr(address), n = rows.length, draw = paper.getContext("2d");
        paper.width = paper.height = n;
        draw.fillStyle = "#fff";
        draw.fillRect(0, 0, n, n);
        draw.fillStyle = "#000";
        rows.forEach((row, y) => row.forEach((dark, x) => dark && draw.fillRect(x, y, 1, 1)));
        paper.role = "img";
        paper.ariaLabel = "A code for the other phone's camera";
      }
      inside.replaceChildren(...[el("h2", `Hand over ${NAMES(b)[0].toLowerCase()}${NAMES(b).slice(1)}`),
        fits ? el("p", "Point the other phone's camera at the code. Open the link. Tap “Take it over”.") : el("p", "This batch is too long for a code. Send it as a file: on the other phone, open “Batches”, then “Take over”."),
        fits && paper, button("Send it as a file", () => asFile(b)),
        button("The other phone has it: stop here", async () => {
          choose("none");
          await store.end(b.id, (kept) => {
            kept.ended = kept.handed = iso();
          });
          inside.closest("dialog").close();
        })].filter(Boolean));
    },
    async given(inside, code) {
      history.replaceState(null, "", location.href.split("#")[0]);
      try {
        if (code.length > 20000) throw Error();
        offered(inside, await unpacked(code));
      } catch {
        inside.replaceChildren(el("h2", "Not taken over"), el("p", "The code was not read whole. Hand it over again."));
      }
    },
    open(inside) {
      const input = Object.assign(el("input"), { type: "file", accept: ".json,application/json" });
      input.onchange = async () => {
        const [file] = input.files;
        if (!file) return;
        if (file.size > MOST_FILE) return inside.replaceChildren(el("h2", "Not taken over"), el("p", "This file is too large for a batch."));
        offered(inside, await file.text());
      };
      inside.replaceChildren(el("h2", "Take over a batch"), el("label.ks-field", el("span", "The file from the other phone"), input));
    },
    async ended(fold) {
      const kept = (await store.ended()).sort((a, b) => (a.ended > b.ended ? -1 : 1));
      fold.replaceChildren(fold.firstChild, ...(kept[0] ? kept.map((b) => el("p.ks-was", `${strip.named(b)}: ${b.label}, ${dayWords(b.day)}${b.handed ? ", handed over" : ""}`, button("Record", () => files(fold.parentElement, b)), button("Remove", async (event) => {
        const key = event.target;
        if (!key.dataset.sure) return (key.textContent = "Remove it for good?"), (key.dataset.sure = 1);
        await store.remove(b.id);
        key.parentElement.remove();
      }))) : [el("p", "None.")]));
    },
  };
};
