// The water of a dough from the day's temperatures: sheet/dough_day.py and composition/dough_water.py
// once more, on fractions of BigInt. Words come from the page's record; nothing here is a float.
self.ksDough = (() => {
  const NB = "\u00a0", gcd = (a, b) => (b ? gcd(b, a % b) : a < 0n ? -a : a);
  const q = (n, d = 1n) => {
    const g = gcd(n, d) || 1n;
    return { n: n / g, d: d / g };
  };
  const of = (text) => q(...text.split("/").map(BigInt));
  const add = (a, b) => q(a.n * b.d + b.n * a.d, a.d * b.d), sub = (a, b) => q(a.n * b.d - b.n * a.d, a.d * b.d);
  const mul = (a, b) => q(a.n * b.n, a.d * b.d), lt = (a, b) => a.n * b.d < b.n * a.d;
  const div = (a, b) => (b.n < 0n ? q(-a.n * b.d, -a.d * b.n) : q(a.n * b.d, a.d * b.n));
  // Half away from zero, to so many decimals; a thin space from five digits on.
  const fixed = (v, places, sign) => {
    const top = (v.n < 0n ? -v.n : v.n) * 10n ** BigInt(places), count = (2n * top + v.d) / (2n * v.d);
    const digits = String(count).padStart(places + 1, "0"), at = digits.length - places;
    let whole = digits.slice(0, at);
    if (whole.length > 4) whole = whole.replace(/\B(?=(\d{3})+$)/g, "\u2009");
    return (v.n < 0n && count ? "-" : "") + whole + (places ? sign + digits.slice(at) : "");
  };
  const plain = (v, places, sign) => {
    const text = fixed(v, places, sign);
    return text.includes(sign) ? text.replace(/0+$/, "").replace(/\D$/, "") : text;
  };
  // A temperature as typed, in the kitchen's scale; null for nothing, undefined for what is none.
  const read = (r, text) => {
    if (!text.trim()) return null;
    const [, minus, whole, part = ""] = text.trim().match(r.sign === "," ? /^([-−]?)(\d{1,4})(?:,(\d{1,4}))?$/ : /^([-−]?)(\d{1,4})(?:\.(\d{1,4}))?$/) || [];
    if (whole === undefined) return undefined;
    const v = q(BigInt(minus ? "-" + whole + part : whole + part), 10n ** BigInt(part.length));
    return lt(v, of(r.least)) || lt(of(r.most), v) ? undefined : v;
  };

  // What the day gives: the water in words, the friction, ice by size and line, what is to be said.
  const work = (r, typed) => {
    const { sign } = r, degrees = (v) => plain(v, 1, sign) + NB + r.unit, found = { notes: [], ice: [] };
    const [tap, dough, water, own] = [typed.tap, typed.dough, typed.water, typed.friction].map((t) => read(r, t || ""));
    const others = typed.other.map((t) => read(r, t));
    if ([...others, tap, dough, water, own].includes(undefined) || (own && own.n < 0n)) return { wrong: r.words.wrong };
    if (others.includes(null)) return found;
    const sum = others.reduce(add), n = q(BigInt(r.n));
    let friction = r.friction === null ? own : of(r.friction);
    if (dough && water) {
      friction = sub(sub(mul(n, dough), sum), water);
      if (friction.n < 0n) return { wrong: r.words.cools };
      found.friction = degrees(friction);
    }
    if (!friction) return found;
    const wanted = sub(sub(mul(n, of(r.wanted)), sum), friction), freezes = of(r.freezes);
    found.water = degrees(wanted);
    if (tap && lt(tap, freezes)) return { wrong: r.words.frozen };
    const cold = tap && (lt(wanted, tap) ? div(sub(tap, wanted), add(tap, of(r.melts))) : q(0n));
    const share = cold && !lt(q(1n), cold) ? cold : null;
    if (!lt(wanted, of(r.hot))) found.notes.push(r.words.hot);
    if (tap && !share) found.notes.push(r.words.none);
    else if (lt(wanted, freezes)) found.notes.push(r.words.cold);
    if (!tap) found.notes.push(r.words.tap);
    const dry = !r.sizes.some((lines) => lines.length), words = dry ? r.words.dry : r.words.liquids;
    if (words) found.notes.push(words);
    if (!share) return found;
    found.share = plain(mul(share, q(100n)), 1, sign) + NB + "%";
    found.ice = r.sizes.map((lines) => lines.map(([name, loads, grams, division, unit, places, word]) => {
      const whose = name + (loads > 1 ? r.words.loads.replace("{}", loads) : ""), g = of(grams), step = of(division);
      const half = add(div(mul(g, share), step), q(1n, 2n)), round = mul(q(half.n / half.d), step), ice = lt(g, round) ? g : round;
      const shown = (v) => fixed(div(v, of(unit)), places, sign) + NB + word;
      return ice.n ? `${whose}: ${shown(ice)}${r.words.ice}${shown(sub(g, ice))}${r.words.rest}` : `${whose}: ${r.words.noice}`;
    }));
    return found;
  };

  const start = (box, el) => {
    const r = JSON.parse(box.dataset.dough), day = box.querySelector(".ks-day");
    const fields = [...day.querySelectorAll("input")], [answer, measured] = day.querySelectorAll(".ks-answer");
    const value = (kind) => (fields.find((f) => f.dataset.day === kind) || { value: "" }).value;
    day.hidden = false;
    day.addEventListener("input", () => {
      const found = work(r, {
        other: fields.filter((f) => f.dataset.day === "other").map((f) => f.value),
        ...Object.fromEntries(["tap", "dough", "water", "friction"].map((kind) => [kind, value(kind)])),
      });
      const lines = (found.ice || []).flatMap((size, i) => size.map((words) => el(`p.ks-for.ks-for-${i}`, words)));
      const share = found.share && el("p.ks-for.ks-for-x", r.words.share.replace("{}", found.share));
      answer.replaceChildren(...[
        found.wrong && el("p", found.wrong),
        found.water && el("p", r.words.water, el("b", found.water)),
        ...lines, share, ...(found.notes || []).map((words) => el("p", words)),
      ].filter(Boolean));
      measured.replaceChildren(...(found.friction ? [el("p", r.words.friction, el("b", found.friction))] : []));
    });
  };
  return Object.assign(start, { work });
})();
