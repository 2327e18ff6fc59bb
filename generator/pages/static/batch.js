// A batch of any size by the generator's own rules: exact fractions of whole numbers, rounded once, at
// the scale. Order and ties are those of scaling/, loading and sheet. Nothing here is a float.
self.ksBatch = (() => {
  const NB = "\u00a0";
  const gcd = (a, b) => (b ? gcd(b, a % b) : a < 0n ? -a : a);
  class Q {
    constructor(n, d = 1n) {
      const g = gcd(n, d) || 1n;
      this.n = n / g;
      this.d = d / g;
    }
    add(o) { return new Q(this.n * o.d + o.n * this.d, this.d * o.d); }
    sub(o) { return new Q(this.n * o.d - o.n * this.d, this.d * o.d); }
    mul(o) { return new Q(this.n * o.n, this.d * o.d); }
    div(o) { return new Q(this.n * o.d, this.d * o.n); }
    lt(o) { return this.n * o.d < o.n * this.d; }
    floor() { return new Q(this.n / this.d); }
    ceil() { return new Q((this.n + this.d - 1n) / this.d); }
    toJSON() { return `${this.n}/${this.d}`; }
  }
  // A figure of the record; nothing in it, or made of it here, is below zero.
  const q = (x) => {
    if (x === undefined || x instanceof Q) return x;
    const [n, d] = String(x).split("/");
    return new Q(BigInt(n), BigInt(d || 1));
  };
  const ZERO = q(0), ONE = q(1), THOUSAND = q(1000), POUND = q("45359237/100000");
  const ten = (p) => (p < 0 ? new Q(1n, 10n ** BigInt(-p)) : new Q(10n ** BigInt(p)));
  const halfUp = (v, step = ONE) => v.div(step).add(q("1/2")).floor().mul(step);
  const atLeastOne = (v) => (v.lt(ONE) ? ONE : v);
  const power = (v) => {
    let e = 0;
    while (!v.lt(ten(e + 1))) e++;
    while (v.lt(ten(e))) e--;
    return e;
  };
  const refuse = (code, message, ...write) => {
    throw { code, message, write };
  };

  // Numbers as people read them.
  let sign = ".", us;
  const fixed = (v, places, thin = "\u2009") => {
    const digits = String(halfUp(v.mul(ten(places))).n).padStart(places + 1, "0");
    let whole = digits.slice(0, digits.length - places);
    if (whole.length > 4) whole = whole.replace(/\B(?=(\d{3})+$)/g, thin);
    return whole + (places ? sign + digits.slice(-places) : "");
  };
  const plain = (v, places = 6) => {
    const text = fixed(v, places);
    return text.includes(sign) ? text.replace(/0+$/, "").replace(/\D$/, "") : text;
  };
  const kilos = (g) => us ? (g.lt(POUND) ? `${plain(g.mul(q(16)).div(POUND), 1)}${NB}oz` : `${plain(g.div(POUND), 2)}${NB}lb`) : (g.lt(THOUSAND) ? `${plain(g, 1)}${NB}g` : `${plain(g.div(THOUSAND), 2)}${NB}kg`);
  const small = (g, places) => us ? `${plain(g.mul(q(16)).div(POUND), places)} oz` : `${plain(g, places)} g`;
  const counted = (n, [one, many]) => `${plain(n)}${NB}${n.toJSON() === "1/1" ? one : many}`;
  const twoDigits = (v) => plain(v.n ? halfUp(v, ten(power(v) - 1)) : v);
  const EIGHTHS = { "0/1": "", "1/8": "⅛", "1/4": "¼", "1/3": "⅓", "3/8": "⅜", "1/2": "½", "5/8": "⅝", "2/3": "⅔", "3/4": "¾", "7/8": "⅞", "1/1": "" };
  const spoons = (v) => {
    if (!v.lt(q(10))) return twoDigits(v);
    let best, off;
    for (const part in EIGHTHS) {
      const c = v.floor().add(q(part)), away = c.lt(v) ? v.sub(c) : c.sub(v);
      if (c.n && (!best || away.lt(off))) [best, off] = [c, away];
    }
    const whole = best.floor();
    return (whole.n || "") + EIGHTHS[best.sub(whole).toJSON()];
  };
  const asPieces = (v) => {
    if (v.lt(q("1/8"))) return ZERO;
    if (!v.lt(ONE)) return halfUp(v, v.lt(q(5)) ? q("1/2") : ONE);
    let best, off;
    for (const part of ["1/4", "1/3", "1/2", "2/3", "3/4", "1/1"]) {
      const c = q(part), away = c.lt(v) ? v.sub(c) : c.sub(v);
      if (!best || away.lt(off)) [best, off] = [c, away];
    }
    return best;
  };
  const household = (g, ln) => {
    if (ln.count) {
      const [each, one, many] = ln.count, n = asPieces(g.div(q(each))), word = ONE.lt(n) ? many : one;
      return n.n ? `about${NB}${n.d === 1n ? n.n : spoons(n)}${word && " " + word}` : "less than ¼";
    }
    if (!ln.volume) return "";
    const [perMl, unit, word, detail] = ln.volume, ml = g.div(q(perMl));
    const small = unit && ml.div(q(unit)).lt(q("1/16"));
    const metric = ml.lt(THOUSAND) || small ? `${twoDigits(ml)}${NB}ml` : `${twoDigits(ml.div(THOUSAND))}${NB}l`;
    return `about${NB}${unit && !small ? `${spoons(ml.div(q(unit)))}${NB}${word}` : metric}${detail && " " + detail}`;
  };

  // Amounts as a cook writes them: the generator's grammar, for weights and known pieces.
  const PIECE = /\s*(?:(?:(\d{1,7})\s+)?(\d{1,4})\s*[/⁄]\s*(\d{1,4})|(\d{0,7}[.,]\d{1,9}|\d{1,9}))\s*(%|[A-Za-zµ°#"'][A-Za-z .\-#"']*)?/y;
  const figure = (digits, typed) => {
    const [whole, part = ""] = digits.split(/[.,]/), comma = sign === ",";
    const three = part.length === 3 && +whole, small = part.replace(/0+$/, three ? "" : "$&");
    if (comma ? /\./.test(digits) : three && (digits.includes(",") || part.endsWith("0"))) {
      const found = [...(three ? [whole + part] : []), (whole || "0") + (small && sign + small)];
      const write = found.map((x) => typed.replace(digits, x));
      if (comma) refuse("decimal-mark", `\`${typed}\`: did you mean ${write.join(" or ")}?`, ...write);
      refuse("amount-doubtful", `\`${typed}\`: ${found.join(" or ")}?`, ...write);
    }
    return new Q(BigInt(whole + part), 10n ** BigInt(part.length));
  };
  const read = (text, units, pieces) => {
    const typed = text.replace(/(\d)[\u2009\u202f](?=\d{3}(?!\d))/g, "$1").trim().replace(/\s+/g, " ");
    const unreadable = () => refuse("amount-unreadable", `\`${typed}\` is not an amount.`);
    if (!typed) refuse("amount-missing", "There is no amount here.");
    if (typed.length > 60) refuse("amount-unreadable", "An amount has at most 60 letters.");
    if (/^[-−+]/.test(typed)) refuse("amount-negative", `\`${typed}\`: an amount must be above zero.`);
    if (/[.,]\d*[.,]/.test(typed)) refuse("amount-doubtful", `\`${typed}\` has two kinds of points.`);
    const body = typed.replace(/[½¼¾⅓⅔⅛⅜⅝⅞⅙⅚⅕]/g, (c) => " " + c.normalize("NFKD"));
    const found = [];
    PIECE.lastIndex = 0;
    while (PIECE.lastIndex < body.length) {
      const m = PIECE.exec(body) || unreadable();
      if (m[3] && !+m[3]) refuse("amount-unreadable", `\`${typed}\` divides by zero.`);
      found.push([m[4] ? figure(m[4], typed) : q(m[1] || 0).add(q(`${m[2]}/${m[3]}`)), (m[5] || "").replace(/\./g, " ").trim()]);
    }
    let total = ZERO, last;
    for (const [n, word] of found) {
      const is = (w) => w === word || w === word.toLowerCase(), unit = units.find((u) => u.slice(1).some(is)), piece = pieces.find((p) => is(p[0]));
      const grams = q(unit ? unit[0] : piece && piece[1]);
      if (!grams && found[1]) unreadable();
      if (!word) refuse("amount-without-unit", `${typed} of what?`);
      if (!grams) refuse("unit-unknown", `\`${word}\` is not a unit known here.`);
      if (last && !grams.lt(last)) refuse("amount-doubtful", `\`${typed}\`: the larger unit comes first.`);
      [total, last] = [total.add(n.mul(grams)), grams];
    }
    return total.n ? total : refuse("amount-zero", `\`${typed}\` is zero.`);
  };

  // A scale for a line.
  const off = (s, n) => n.mul(s.division.mul(q("1/2")).add(s.accuracy));
  const weighings = (s, g) => atLeastOne(g.div(s.capacity).ceil());
  const weigh = (g, ok, scale, needs) => {
    const n = weighings(scale, g), each = halfUp(g.div(n), scale.division);
    return { grams: each.mul(n), each, n, scale, share: off(scale, n).div(g), ok, needs };
  };
  const choose = (g, ok, scales) => {
    for (const group of [[scales.filter((s) => s.here), scales.filter((s) => !s.elsewhere)], [scales]])
      for (const most of [1, 20])
        for (const s of group.flat()) {
          const n = weighings(s, g);
          if (!q(most).lt(n) && !g.div(n).lt(s.least) && !ok.mul(g).lt(off(s, n))) return weigh(g, ok, s);
        }
    const least = (a, b, key) => (a[key].lt(b[key]) ? -1 : +b[key].lt(a[key]));
    const finest = [...scales].sort((a, b) => least(a, b, "division") || least(a, b, "accuracy") || (a.id < b.id ? -1 : 1))[0];
    const most = ok.mul(g).div(q("1/2").add(finest.accuracy.div(finest.division))), step = ten(power(most));
    return weigh(g, ok, finest, q([5, 2, 1].find((x) => !most.lt(q(x).mul(step)))).mul(step));
  };

  // Loads.
  const equal = (s, g) => {
    const n = s.most ? atLeastOne(g.div(s.most).ceil()) : ONE, each = g.div(n);
    if (s.least && each.lt(s.least))
      refuse("load-below-minimum", `${s.where}: ${kilos(each)} a load is below the ${kilos(s.least)} it needs. Make at least ` +
        `${kilos(s.least.mul(n))} at this step${s.most && ONE.lt(n) ? `, or at most ${kilos(n.sub(ONE).mul(s.most))}` : ""}.`);
    return { n, grams: each };
  };
  const whole = (s, pieces, each) => {
    if (!s.most) return { n: ONE, grams: pieces.mul(each), pieces: [pieces.n] };
    const capacity = s.most.div(each).floor();
    if (!capacity.n)
      refuse("load-above-maximum", `${s.where}: one fill of ${kilos(each)} is above the ${kilos(s.most)} ` +
        `${s.bowl ? "its bowl has room for" : "it takes"}. Choose a smaller fill or another machine.`);
    const n = pieces.div(capacity).ceil(), shares = [];
    for (let i = 0n; i < n.n; i++) shares.push(pieces.n / n.n + (i < pieces.n % n.n ? 1n : 0n));
    return { n, grams: new Q(shares[0]).mul(each), pieces: shares };
  };
  const loadsWords = (loads, rec) => {
    const times = counted(loads.n, ["load", "loads"]), { pieces } = loads, one = loads.n.n === 1n;
    if (!pieces || !rec.fills) return one ? kilos(loads.grams) : `${times} of ${kilos(loads.grams)}`;
    if (pieces[0] !== pieces.at(-1)) return `${times}: ${pieces.join(", ")} ${rec.fills[1]}`;
    const each = counted(new Q(pieces[0]), rec.fills);
    return one ? each : `${times} of ${each}`;
  };

  const onHand = (have, rec) => {
    const hand = { left: {} }, all = {};
    for (const [item, text] of have) {
      const lines = rec.lines.filter((ln) => ln.item === item);
      if (!lines[0]) refuse("item-unknown", `This formula has no \`${item}\`.`);
      const grams = read(text, rec.units, lines[0].pieces || []);
      const need = lines.reduce((sum, ln) => sum.add(q(ln.g)), ZERO).div(ONE.sub(q(lines[0].trim || 0)));
      const factor = grams.div(need);
      all[item] = [grams, need];
      if (!hand.item || factor.lt(hand.factor) || (!hand.factor.lt(factor) && item < hand.item)) Object.assign(hand, { factor, item });
    }
    for (const item in all) if (item !== hand.item) hand.left[item] = all[item][0].sub(all[item][1].mul(hand.factor));
    return hand;
  };
  const yieldsAt = (factor, f) => {
    const times = (x) => x && x.mul(factor);
    const y = { base: times(f.base), total: times(f.total), filled: times(f.filled), finished: times(f.finished), yield: times(f.yielded) };
    y.ends = y.finished.sub(y.yield);
    const exact = times(q(f.kinds.fills));
    if (exact) {
      y.fills = exact.floor();
      y.rest = exact.sub(y.fills).mul(f.fill);
    }
    if (f.portion) [y.portions, y.portion] = [y.yield.div(f.portion).floor(), f.portion];
    else if (f.per && exact) [y.portions, y.portion] = [y.fills.mul(f.per), y.yield.div(exact).div(f.per)];
    y.over = y.portions ? y.yield.sub(y.portions.mul(y.portion)) : ZERO;
    if (y.over.lt(ONE)) y.over = ZERO;
    return y;
  };

  /** The batch of a page's record. `kind` is total, base, yield, fills or portions, and `text` how much;
      or "have" with [[item, amount], …]. Throws {code, message, write} for what the generator refuses. */
  const make = (rec, kind, text) => {
    ({ sign, us } = rec);
    const exact = (row, ...keys) => keys.reduce((o, k) => ({ ...o, [k]: q(row[k]) }), { ...row });
    const f = exact(rec, "base", "total", "filled", "finished", "yielded", "fill", "portion", "per");
    const hand = kind === "have" && onHand(text, rec), words = rec[kind];
    const count = kind === "fills" || kind === "portions";
    if (rec.no && rec.no[kind]) refuse("size-not-made", rec.no[kind]);
    if (count && !/^\d{1,6}$/.test(text)) refuse("whole-number-expected", `\`${text}\` is not a whole number of ${kind}.`);
    let value = hand ? f.base.mul(hand.factor) : count ? read(`${text} each`, [], [["each", 1]]) : read(text, rec.units, []);
    const label = count ? counted(value, words || [kind.slice(0, -1), kind]) : `${kilos(value)} ${hand ? "base" : kind}`;
    let over = rec.kinds[hand ? "base" : kind];
    if (!over) [over, value] = [rec.kinds.fills, value.div(f.per).ceil()];
    const factor = value.div(q(over));
    if (q(10000).lt(factor)) refuse("size-too-large", "That is over 10,000 times the formula. Check the figure.");
    const yields = yieldsAt(factor, f);
    const steps = rec.steps.map((row) => {
      const s = exact(row, "g", "most", "least", "ml"), g = factor.mul(s.g);
      let loads = equal;
      if (s.filled && yields.fills && yields.fills.n) {
        loads = whole(s, yields.fills.add(yields.rest.n ? ONE : ZERO), g.mul(f.fill).div(yields.filled || yields.finished));
        if (g.lt(loads.grams)) loads.grams = g;
      } else loads = equal(s, g);
      return { ...s, g, loads, words: loadsWords(loads, rec), volume: s.ml && loads.grams.mul(s.ml) };
    });
    const lead = steps.find((s) => s.lead), loads = lead ? lead.loads : { n: ONE, grams: yields.total };
    const scales = rec.scales.map(([id, name, division, accuracy, capacity, least, here, elsewhere, unit, unitG, places]) =>
      exact({ id, name, division, accuracy, capacity, least, here, elsewhere, unit, unitG, places }, "division", "accuracy", "capacity", "least", "unitG"));
    const lines = rec.lines.map((ln, i) => {
      const all = factor.mul(q(ln.g)), n = ln.each ? loads.n : ONE, g = all.div(n), on = choose(g, q(ln.ok), scales);
      if (on.needs && ln.asneeded) [on.ok, on.needs] = [ONE];
      return { ...ln, i, all, n, g, on, words: household(g, ln), bought: all.div(ONE.sub(q(ln.trim || 0))) };
    });
    return { label, factor, hand, yields, steps, loads, lines };
  };
  const shows = (scale, g) => fixed(g.div(scale.unitG), scale.places);
  const coarse = (on) => `Weighs to ±${small(off(on.scale, on.n), 3)}, ${plain(on.share.mul(q(1000)).ceil().div(q(10)), 1)} %. Needs one that reads ${plain(on.needs)} g.`;
  return { make, q, ZERO, plain, fixed, kilos, counted, shows, coarse, halfUp, whole: (v) => v.n };
})();
