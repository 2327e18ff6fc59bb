// A reading at the bench: what it says by the page's own limit, at once, and a keypad to type it on.
// Figures are compared as fractions of whole numbers; `law` is what `review` says of this one reading.
self.ksJudge = (() => {
  const frac = (x) => {
    const [n, d] = String(x).split("/");
    return [BigInt(n), BigInt(d || 1)];
  };
  const less = (a, b) => a[0] * b[1] < b[0] * a[1];
  /** A figure as it is typed, or undefined for what is none: up to four digits and six decimals. */
  const typed = (text) => {
    const m = /^([-−]?)(\d{1,4})(?:[.,](\d{1,6}))?$/.exec(text), part = (m && m[3]) || "";
    return m && [BigInt(m[2] + part) * (m[1] ? -1n : 1n), 10n ** BigInt(part.length)];
  };
  const celsius = ([n, d], unit) => (unit === "°F" ? [(n - 32n * d) * 5n, d * 9n] : [n, d]);
  const food = (c) => !less(c, [-60n, 1n]) && !less([350n, 1n], c);
  const between = (v, low, high) => !less(v, [low, 1n]) && !less([high, 1n], v);

  // Of what is kept cold: a reading that is of the other scale, as `review` doubts it.
  const otherScale = (limit, v, unit) => {
    if (limit.side !== "max" || !limit.judged) return false;
    if (unit === "°C") return between(v, 28n, 45n);
    const frozen = limit.hazard === "thaw" || !less([0n, 1n], frac(limit.law));
    return !frozen && less([5n, 1n], v) && !less([28n, 1n], v);
  };
  const CORE = ["cook", "reheat", "cool", "hot_hold", "cold_hold"];
  const tooHot = (limit, c) => Boolean(limit.hottest && limit.core && CORE.includes(limit.hazard) && less(frac(limit.hottest), c));
  const GRAVITY = ["pass", "cannot tell", "fail"];
  const heated = (limit, c) => {
    const found = limit.rows.map(([at, hold, timed]) => {
      if (less(c, frac(at))) return "fail";
      return (limit.reach && timed) || frac(hold)[0] > 0n ? "cannot tell" : "pass";
    });
    return found.sort((a, b) => GRAVITY.indexOf(a) - GRAVITY.indexOf(b))[0];
  };
  /** The verdict of `review` on a log of this one reading, by the row of law: pass, fail, cannot tell. */
  const law = (limit, v, unit) => {
    if (!limit.judged) return "cannot tell";
    const c = celsius(v, unit), row = frac(limit.law);
    if (tooHot(limit, c) || otherScale(limit, v, unit)) return "cannot tell";
    let found;
    if (limit.rows) found = heated(limit, c);
    else if (limit.hold) found = less(row, c) ? "fail" : "cannot tell";
    else found = (limit.side === "min" ? less(c, row) : less(row, c)) ? "fail" : "pass";
    return found === "pass" && limit.both ? "cannot tell" : found;
  };

  const figure = (read, unit) => `${read[unit === "°F" ? 1 : 0][1]} ${unit}`;
  const exact = (read, unit) => frac(read[unit === "°F" ? 1 : 0][0]);
  const ON_THE_WAY = ["cook", "reheat", "parasites"]; // a reading before it is there is no miss
  // A limit of one figure.
  const single = (limit, v, unit, now) => {
    const read = limit.reads[0], hot = limit.side === "min", at = exact(read, unit), c = celsius(v, unit), row = frac(limit.law);
    const asks = `${figure(read, unit)} or ${hot ? "hotter" : "colder"}.`, late = now.late;
    if (!(hot ? less(v, at) : less(at, v))) {
      if (late) return { verdict: "missed", words: `yes, but too late. It was due at ${late}.` };
      return limit.held ? { verdict: "reached", words: "there. Now hold it." } : { verdict: "met", words: "yes." };
    }
    if (ON_THE_WAY.includes(limit.hazard)) return { verdict: "not yet", words: `not yet. ${asks}` };
    if (!(hot ? less(c, row) : less(row, c))) return { verdict: "not sure", words: `not sure. The probe may be off. ${asks}` };
    return { verdict: "missed", words: `too ${hot ? "cold" : "warm"}. ${asks}` };
  };
  // Cooling in stages: `now` has the stages still due, each with its time, and how much is left of it.
  const cooled = (limit, v, unit, now) => {
    const reached = [], start = limit.clocks && limit.clocks[0] && limit.clocks.at(-1).at;
    if (!now.due) {
      const from = start && typed(start[unit === "°F" ? 1 : 0]);
      if (!from) return { verdict: "no clock", words: "no clock runs. Start it from when it was made." };
      const at = `${start[unit === "°F" ? 1 : 0]} ${unit}`;
      if (!less(v, from)) return { verdict: "before", words: `the clock starts at ${at}.` };
      return { verdict: "no clock", words: `no clock runs. The time counts from ${at} on the probe.` };
    }
    // Cooling food doesn't warm: above the law's figure of a stage that was reached, it is no stage more.
    const back = now.due.filter((due) => due.reached && less(frac(limit.laws[due.i]), celsius(v, unit))).at(-1);
    if (back) {
      const was = `too warm. It was at ${figure(limit.reads[back.i], unit)} before.`;
      if (back.i === now.due.length - 1) return { verdict: "missed", words: was, reached };
      return { verdict: "not sure", words: `${was} Out of the cold, or the probe out of the food?`, reached };
    }
    const open = now.due.filter((due) => !due.reached);
    for (const due of open) {
      if (due.past || less(exact(limit.reads[due.i], unit), v)) break;
      reached.push(due.i);
    }
    const next = open.find((due) => !reached.includes(due.i));
    if (!next) {
      const rest = limit.reads[now.due.length];
      if (rest && less(exact(rest, unit), v)) return { verdict: "met", words: `yes. Go on to ${figure(rest, unit)} before you pack it.`, reached };
      return { verdict: "met", words: "yes. In time.", reached };
    }
    const by = `${figure(limit.reads[next.i], unit)} by ${next.at}`;
    if (reached.length) return { verdict: "in time", words: `yes. Next: ${by}.`, reached };
    if (!next.past) return { verdict: "not yet", words: `not yet. ${by}, ${next.left} left.`, reached };
    const between = less(exact(limit.reads[next.i], unit), v) && !less(frac(limit.laws[next.i]), celsius(v, unit));
    if (between) return { verdict: "not sure", words: `not sure. The probe may be off, and ${by} is over.`, reached };
    if (less(exact(limit.reads[next.i], unit), v) && !next.advised) return { verdict: "missed", words: `too warm. ${by} is over.`, reached };
    return { verdict: "not shown", words: `${by} is over, and no reading shows it in time.`, reached };
  };
  /** What the page says of a reading: verdict, words, the stages it shows reached. */
  const say = (limit, text, unit, now = {}) => {
    const v = typed(text), c = v && celsius(v, unit);
    if (!v) return { fault: `${text || "Nothing"} is not a temperature.` };
    if (!food(c)) return { fault: `${text} ${unit} is not a temperature of food.` };
    const other = unit === "°C" ? "°F" : "°C";
    if (tooHot(limit, c)) return { verdict: "in doubt", words: `no food is so hot. Is it ${other}?`, law: law(limit, v, unit) };
    if (otherScale(limit, v, unit)) return { verdict: "in doubt", words: `is it ${other}?`, law: law(limit, v, unit) };
    return { ...(limit.hazard === "cool" ? cooled : single)(limit, v, unit, now), law: law(limit, v, unit) };
  };
  return { typed, law, say };
})();

self.ksReading = ({ bench, strip, iso, newId, change, batch }) => {
  const { page, record, one, all, el, button } = bench;
  const sheet = el("dialog.ks-sheet.ks-keypad");
  sheet.tabIndex = -1;
  page.append(sheet);
  let probe = "1", unit;
  const minutes = (ms) => (ms < 60000 ? "less than 1 min" : ms < 3600000 ? `${Math.floor(ms / 60000)} min` : `${Math.floor(ms / 3600000)} h ${Math.floor(ms / 60000) % 60} min`);
  // The clocks of a limit that still wait for something; a reading is of the one that is chosen.
  const clocksOf = (limit) => batch().clocks.filter((clock) => clock.limit === limit.id && ["cool", "reach"].includes(clock.key.split(" ").pop()) && strip.waits(clock)[0]);
  const lastDone = (limit) => batch().clocks.filter((clock) => clock.limit === limit.id && clock.key.endsWith(" cool") && !clock.stopped).at(-1);
  let which = 0;
  // What of the limit's clock matters for a reading taken now.
  const state = (limit) => {
    const running = clocksOf(limit), clock = running[which % (running.length || 1)] || lastDone(limit), now = Date.now();
    if (!clock) return {};
    const due = clock.due.map((one, i) => ({ ...one, i, past: Date.parse(one.at) < now, at: strip.when(Date.parse(one.at)), left: minutes(Date.parse(one.at) - now) }));
    if (limit.hazard === "cool") return { clock, due };
    return { clock, due, late: due[0].past && !due[0].reached && due[0].at };
  };
  const keep = async (limit, name, text, at, told) => {
    const { clock } = state(limit), found = self.ksJudge.say(limit, text, unit, state(limit));
    if (found.fault) return told(found);
    const reached = found.reached || (["met", "reached"].includes(found.verdict) && clock ? [0] : []), id = newId(), time = iso(), step = clock && clock.step;
    const kept = await change((b) => {
      b.readings.push({ id, at: time, ...((step || limit.no) && { step: step || limit.no }), limit: limit.id, ...(clock && { clock: clock.id }), probe, value: text, unit, verdict: found.verdict, law: found.law });
      const own = clock && b.clocks.find((one) => one.id === clock.id);
      reached.forEach((i) => {
        Object.assign(own.due[i], { reached: time, by: id });
        const next = own.due[i + 1];
        if (next && next.after && !next.reached) next.at = new Date(Date.parse(time) + next.after * 1000).toISOString();
      });
    });
    if (!kept) return told({ fault: "Not kept." });
    const hold = found.verdict === "reached" && one(".ks-hold", at), missed = all("dl > div", at).find((row) => ksSaid(one("dt", row)) === "If missed");
    told({ ...found, text, hold: hold && ksSaid(hold), missed: ["missed", "not shown", "not yet", "not sure"].includes(found.verdict) && missed && ksSaid(one("dd", missed)) });
  };
  return {
    open(limit, name, at) {
      const own = record.degree === "F" ? "°F" : "°C", other = own === "°C" ? "°F" : "°C", sign = record.sign;
      unit = bench.other() ? other : own;
      let text = "";
      const face = el("output.ks-typed"), told = el("div.ks-verdict"), go = button("Keep", () => keep(limit, name, text, at, tell), "ks-button.ks-go");
      told.setAttribute("role", "status");
      const draw = () => {
        face.textContent = `${text.replace("-", "−") || "–"} ${unit}`;
        go.disabled = !text;
        go.textContent = text ? `Keep ${text.replace("-", "−")} ${unit}` : "Keep";
        scale.textContent = unit;
        number.textContent = `Probe ${probe}`;
        const running = clocksOf(limit), now = running[which % (running.length || 1)];
        load.hidden = !running[1];
        if (running[1]) load.textContent = `Clock ${running.indexOf(now) + 1}, from ${strip.when(Date.parse(now.started))}`;
      };
      const tell = (found) => {
        told.replaceChildren(...(found.fault ? [el("p", el("b", found.fault))] : [
          el("p", el("b", `${found.text.replace("-", "−")} ${unit}: ${found.words}`)), found.hold && el("p", `Hold it for ${found.hold}. Start its clock.`), found.missed && el("p", el("b", "If missed: "), found.missed)].filter(Boolean)));
        told.classList.toggle("ks-yes", ["met", "reached", "in time"].includes(found.verdict));
        if (found.fault) return;
        text = "";
        draw();
        verdict(true);
      };
      // A verdict takes the keypad's place; the next reading brings it back.
      const verdict = (shown) => {
        sheet.classList.toggle("ks-told-verdict", shown);
        go.hidden = shown;
        again.hidden = !shown;
        if (shown) return again.focus();
        told.replaceChildren();
        sheet.focus(); // so that the keys of a keyboard type
      };
      const again = button("Another reading", () => verdict(false));
      const press = (key) => {
        verdict(false);
        if (key === "⌫") text = text.slice(0, -1);
        else if (key === "−") text = text.startsWith("-") ? text.slice(1) : `-${text}`;
        else if (key === sign) text += text.includes(sign) || !/\d$/.test(text) ? "" : sign;
        else if (text.replace(/\D/g, "").length < 5) text += key;
        draw();
      };
      const keys = ["7", "8", "9", "⌫", "4", "5", "6", "−", "1", "2", "3", sign, "0"].map((key) => {
        const node = button(key, () => press(key));
        node.ariaLabel = { "⌫": "Delete", "−": "Minus" }[key] || null;
        return node;
      });
      const scale = button("", () => {
        unit = unit === own ? other : own;
        draw();
      });
      const number = button("", () => {
        probe = String((Number(probe) % 9) + 1);
        draw();
      });
      which = 0;
      const load = button("", () => {
        which++;
        draw();
      });
      sheet.onkeydown = (event) => {
        const key = { Backspace: "⌫", "-": "−", ",": sign, ".": sign }[event.key] || event.key;
        if (event.key === "Enter" && ksSaid(event.target).startsWith("Keep")) return;
        if (/^\d$/.test(key) || ["⌫", "−", sign].includes(key)) press(key);
      };
      sheet.ariaLabel = `Reading: ${name}`;
      sheet.replaceChildren(el("h2", `Reading: ${name}`), face, load, el("div.ks-keys", keys, number, scale), told, go, again, button("Close", () => sheet.close()));
      verdict(false);
      draw();
      sheet.showModal();
    },
  };
};
