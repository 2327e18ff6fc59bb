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
  const household = (g, ln, factor, n) => {
    if (ln.whole) {
      const all = factor.mul(q(ln.whole[0])), each = all.div(n);
      return `${ONE.lt(n) ? `${each.floor().n} of ` : ""}${all.n} ${ln.whole[all.n === 1n ? 1 : 2]}`;
    }
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
  const PIECE = /\s*(?:(?:(\d{1,7})\s+)?(\d{1,4})\s*[/⁄]\s*(\d{1,4})|(\d{0,7}[.,]\d{1,9}|\d{1,9}))\s*(%|[A-Za-zÀ-ÖØ-öø-ÿĀ-ſµ°#"'][A-Za-zÀ-ÖØ-öø-ÿĀ-ſ .\-#"']*)?/y;
  const figure = (digits, typed) => {
    const [whole, part = ""] = digits.split(/[.,]/), comma = sign === ",";
    const three = part.length === 3 && +whole, small = part.replace(/0+$/, three ? "" : "$&");
    if (comma ? /\./.test(digits) : three && (digits.includes(",") || part.endsWith("0"))) {
      const found = [...(three ? [whole + part] : []), (whole || "0") + (small && sign + small)];
      const meant = found.map((x) => typed.replace(digits, x)), write = meant.map((x) => (typed === digits ? `${x} g` : x));
      if (comma) refuse("decimal-mark", `\`${typed}\`: did you mean ${meant.join(" or ")}?`, ...write);
      refuse("amount-doubtful", `\`${typed}\`: ${found.join(" or ")}?`, ...write);
    }
    return new Q(BigInt(whole + part), 10n ** BigInt(part.length));
  };
  const read = (text, units, pieces) => {
    const typed = text.replace(/(\d)[\u2009\u202f](?=\d{3}(?!\d))/g, "$1").trim().replace(/\s+/g, " ").normalize("NFC");
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

  // Loads. What doesn't do is {unfit}, with how much more or less would, in grams or in whole fills.
  const equal = (s, g) => {
    const n = s.most ? atLeastOne(g.div(s.most).ceil()) : ONE, each = g.div(n);
    if (!s.least || !each.lt(s.least)) return { n, grams: each };
    return { unfit: ["load-below-minimum", `${s.where}: ${kilos(each)} a load is below the ${kilos(s.least)} it needs.`, ""],
      more: n.mul(s.least), less: s.most && ONE.lt(n) ? n.sub(ONE).mul(s.most) : undefined };
  };
  const roomFor = (s, each) => {
    const by = s.most && each.n ? s.most.div(each).floor() : undefined, places = s.places && s.places.sub(ONE);
    return by && places ? (places.lt(by) ? places : by) : by || places;
  };
  const oneRun = (s, each) => {
    const most = each ? roomFor(s, each) : s.most;
    return most && most.n ? most : undefined;
  };
  const whole = (s, count, each, rest, [one, many]) => {
    const room = roomFor(s, each), places = count.add(rest.n ? ONE : ZERO);
    if (room && !room.n) return { unfit: s.most && s.most.lt(each)
      ? ["load-above-maximum", `${s.where}: one ${one} of ${kilos(each)} is above the ${kilos(s.most)} ${s.said || "it takes"}.`, `Choose a smaller ${one} or another machine.`]
      : ["load-above-maximum", `${s.where}: it has no place.`, "Check `places`."] };
    const n = room ? atLeastOne(places.div(room).ceil()) : ONE, shares = [];
    for (let i = 0n; i < n.n; i++) shares.push(places.n / n.n + (i < places.n % n.n ? 1n : 0n));
    if (rest.n) shares[shares.length - 1]--;
    const grams = (share) => new Q(share).mul(each), last = grams(shares.at(-1)).add(rest);
    const before = shares.length > 1 ? grams(shares.at(-2)) : last, smallest = before.lt(last) ? before : last;
    if (s.least && smallest.lt(s.least)) {
      const need = s.least.div(each).ceil(), within = !room || !room.lt(need);
      return { unfit: ["load-below-minimum", `${s.where}: ${kilos(smallest)} a load is below the ${kilos(s.least)} it needs.`,
        within ? "" : `It needs ${need.n} ${many}, and takes ${room.n}: check \`minimum\` and \`places\`.`],
        more: within ? n.mul(need) : undefined, less: within && room && ONE.lt(n) ? n.sub(ONE).mul(room) : undefined };
    }
    const top = grams(shares[0]);
    return { n, grams: top.lt(last) ? last : top, pieces: shares, rest: !!rest.n, called: [one, many] };
  };
  const alike = ({ n, pieces, rest }) => !pieces || (pieces.every((p) => p === pieces[0]) && !(rest && ONE.lt(n)));
  const loadsWords = (loads) => {
    const times = counted(loads.n, ["load", "loads"]), { pieces, rest, called } = loads, one = loads.n.n === 1n;
    if (!pieces) return one ? kilos(loads.grams) : `${times} of ${kilos(loads.grams)}`;
    const each = counted(new Q(pieces[0]), called);
    if (one) return each + (rest ? " and the rest" : "");
    return alike(loads) ? `${times} of ${each}` : `${times}: ${pieces.filter((p) => p).join(", ")} ${called[1]}${rest ? ", the rest in the last" : ""}`;
  };
  const duration = (s) => {
    let left = halfUp(s).n;
    if (left > 86400n && left % 86400n === 0n) return `${left / 86400n}${NB}days`;
    return [[3600n, "h"], [60n, "min"], [1n, "s"]].map(([size, name]) => {
      const count = left / size;
      left %= size;
      return count && `${count}${NB}${name}`;
    }).filter(Boolean).join(" ") || `0${NB}s`;
  };
  const runWords = ({ loads, s, waits, heats, hand, wait, byLoad }) => {
    let words = loadsWords(loads);
    if (loads.n.n === 1n) return words;
    if (hand && !loads.pieces) words += `, each with ${kilos(hand[0].div(loads.n))} from ${hand[1]}`;
    if (s) words += `, one after another: ${duration(s.mul(loads.n))} in all`;
    if (byLoad) words += ". Each load goes through the next step, too, before another goes in";
    else if (heats) words += ". Take each on as it comes out";
    const how = waits === "warm" ? "The others wait between hot and cold" : `Keep the others ${waits === "hot" ? "hot" : "in the cold"}`;
    const longest = wait || (s && s.mul(loads.n.sub(ONE)));
    return waits ? `${words}. ${how} until their turn${longest && longest.n ? `: up to ${duration(longest)}` : ""}` : words;
  };
  // Each load of the machine before is taken on as it comes out: the next one's loads are parts of them.
  const takenOn = (s, full, each, rest, g, up, called) => {
    if (!each) {
      const parts = s.most ? atLeastOne(g.div(up).div(s.most).ceil()) : ONE, grams = g.div(up).div(parts);
      return s.least && grams.lt(s.least) ? undefined : { n: up.mul(parts), grams };
    }
    const room = roomFor(s, each), places = full.add(rest.n ? ONE : ZERO), pieces = [];
    if (full.lt(up) || (room && !room.n)) return;
    for (let i = 0n; i < up.n; i++) {
      const share = places.n / up.n + (i < places.n % up.n ? 1n : 0n) - (rest.n && i === up.n - 1n ? 1n : 0n);
      const parts = room ? atLeastOne(new Q(share).div(room).ceil()).n : 1n;
      for (let j = 0n; j < parts; j++) pieces.push(share / parts + (j < share % parts ? 1n : 0n));
    }
    const grams = (n) => new Q(n).mul(each), end = new Q(pieces.at(-1)).add(rest.n ? ONE : ZERO), last = grams(pieces.at(-1)).add(rest.mul(each));
    if (room && room.lt(end)) return;
    const before = pieces.slice(0, -1).map(grams), small = before.reduce((a, b) => (b.lt(a) ? b : a), last);
    if (s.least && small.lt(s.least)) return;
    return { n: new Q(BigInt(pieces.length)), grams: [...before, grams(pieces.at(-1)), last].reduce((a, b) => (a.lt(b) ? b : a)), pieces, rest: !!rest.n, called };
  };
  const queued = (n, up, parts, each) => {
    let free = ZERO, longest = ZERO;
    for (let i = 0n; i < n; i++)
      for (let j = 0n; j < parts; j++) {
        const comes = up.mul(new Q(i)), start = comes.lt(free) ? free : comes, wait = start.sub(comes);
        if (longest.lt(wait)) longest = wait;
        free = start.add(each);
      }
    return longest;
  };
  const follow = (up, one, loads) => {
    if (!loads) up.heats = 0;
    else if (up.with !== one.with) {
      const soon = up.soon || up.s, n = up.loads.n.n, timed = soon && one.s;
      const wait = timed ? queued(n, soon, (loads.n.n + n - 1n) / n, one.s) : one.s && one.s.mul(loads.n.sub(ONE));
      if (wait && one.limit && one.limit.lt((one.out || ZERO).add(wait))) {
        up.heats = 0;
        return;
      }
      one.loads = loads;
      if (timed) one.wait = wait;
      if (timed && !wait.n) one.waits = "";
    } else if (!same(loads, one.loads) || (up.waits && up.waits !== "cold") || !up.s || !one.s) up.heats = 0;
    else {
      Object.assign(up, { byLoad: 1, wait: up.loads.n.sub(ONE).mul(up.s.add(one.s)) });
      Object.assign(one, { wait: ZERO, waits: "" });
    }
  };
  const same = (a, b) => a.n.n === b.n.n && !a.grams.lt(b.grams) && !b.grams.lt(a.grams) && String(a.pieces) === String(b.pieces);
  // Where food waits for too long, and what would do.
  const PLACES = {
    out: ["out of the cold", "Or keep it cold until its turn: a step `do: store` with `in` before this one."],
    warm: ["between hot and cold", "Or use more places at once. Or keep it cold until its turn: a step `do: chill` before this one."],
    hot: ["hot before it is chilled", "Or hold it hot until its turn: a step `do: hold-hot` before this one. Or chill it in more places at once."],
  };
  // The machines' loads at a factor, or the first thing that doesn't allow it, with factors that would do.
  const tried = (rec, f, factor) => {
    const y = yieldsAt(factor, f), fills = q(f.kinds.fills), misfit = (m, at) => ({ ...m, more: m.more && m.more.div(at), less: m.less && m.less.div(at) });
    const need = fills && y.fills.add(y.rest.n ? ONE : ZERO);
    if (rec.vessels && need && new Q(BigInt(rec.vessels[0])).lt(need))
      return misfit({ unfit: ["vessels-too-few", `${counted(need, rec.fills)} need ${counted(need, ["vessel", "vessels"])}, and there are ${rec.vessels[0]}: ${rec.vessels[1]}.`,
        "Or check `count` of the vessel."], less: new Q(BigInt(rec.vessels[0])) }, fills);
    const steps = [];
    for (const row of rec.steps) {
      const s = exact(row, "g", "most", "least", "ml", "places", "s", "soon", "out", "limit", "own"), g = factor.mul(s.g);
      const [at, ...called] = s.lot || [], many = at && q(at), all = many && many.mul(factor), full = all && (s.closed ? all.ceil() : all.floor()), rest = all && (all.lt(full) ? ZERO : all.sub(full));
      const each = full && full.n ? s.g.div(many) : undefined;
      let loads = each ? whole(s, full, each, rest.mul(each), called) : equal(s, g);
      const [where, fix] = PLACES[s.waits] || [];
      if (!loads.unfit && ONE.lt(loads.n) && s.once) {
        const room = oneRun(s, each), places = s.places && s.places.sub(ONE);
        const held = places && (!each || room.toJSON() === places.toJSON()) ? counted(s.seats ? q(s.seats) : places, ["place", "places"]) : s.most ? kilos(s.most) : "";
        loads = { unfit: ["load-above-maximum", `${s.where}: all of the food is there at once, ${loads.n.n} times what fits: ${held}.`,
          "Or name a larger place, or check `capacity` and `places`."], less: room };
      }
      if (!loads.unfit && ONE.lt(loads.n) && s.limit && !s.s && s.asks) {
        loads = { unfit: ["runs-wait-too-long", `${s.where}: ${loads.n.n} runs, one after another, and no \`time\`. You don't know ` +
          `how long the last one waits ${where}; ${duration(s.limit)} is the most.`, `Write how long one run takes, as its \`time\`. ${fix}`], less: oneRun(s, each) };
      }
      if (!loads.unfit && ONE.lt(loads.n) && s.limit && s.s) {
        const out = s.out || ZERO, own = s.own || ZERO, stood = out.add(own), longest = s.s.mul(loads.n.sub(ONE)), most = oneRun(s, each);
        if (s.limit.lt(stood.add(longest)) && !((s.waits === "out" || s.waits === "warm") && s.limit.lt(out))) {
          const runs = s.limit.lt(stood) ? ONE : s.limit.sub(stood).div(s.s).floor().add(ONE);
          loads = { unfit: ["runs-wait-too-long", `${s.where}: ${loads.n.n} runs, one after another. The last waits ${duration(longest)} ${where}` +
            `${out.n ? `, after ${duration(out)} of that before` : ""}; ${duration(s.limit)} is the most${own.n ? `, and its own run takes ${duration(own)} of that at the least` : ""}.`, fix], less: most && runs.mul(most) };
        }
      }
      if (loads.unfit) return misfit(loads, each ? many : s.g);
      const n = loads.n, room = each ? roomFor(s, each) : s.most, need = s.least && (each ? s.least.div(each).ceil() : s.least);
      const open = !room || (!(s.once || (s.limit && (s.s || s.asks))) && (!need || !n.mul(room).add(each ? ONE : ZERO).lt(n.add(ONE).mul(need))));
      const up = steps.find((x) => x.no === s.follows);
      const step = { ...s, g, loads, open, hand: s.hand && [factor.mul(q(s.hand[0])), s.hand[1]]};
      if (up && ONE.lt(up.loads.n) && ONE.lt(n)) follow(up, step, takenOn(s, full, each, rest, g, up.loads.n, called));
      steps.push(step);
    }
    for (const step of steps) Object.assign(step, { words: runWords(step), volume: step.ml && step.loads.grams.mul(step.ml) });
    // A stream that waits for food that goes through its machine in several runs.
    for (const [name, where, how, waited, most, numbers] of rec.meets || []) {
      const runs = steps.filter((s) => numbers.includes(s.no) && s.s).map((s) => s.s.mul(s.loads.n.sub(ONE)));
      const more = runs.reduce((a, b) => a.add(b), ZERO), all = q(waited).add(more);
      if (!more.n || !q(most).lt(all)) continue;
      const [at, fix] = PLACES[how];
      return { unfit: ["runs-wait-too-long", `${where}: the ${name} waits ${duration(all)} ${at} for food that is done in several runs; ${duration(q(most))} is the most.`,
        fix.replace("before this one", "before it waits")] };
    }
    return { steps };
  };
  const kilosStep = (g) => us ? (g.lt(POUND) ? POUND.div(q(160)) : POUND.div(q(100))) : g.lt(THOUSAND) ? q("1/10") : q(10);
  const near = (rec, f, factor, up) => {
    const round = (v) => (up ? v.ceil() : v.floor()), fills = q(f.kinds.fills), portions = q(f.kinds.portions);
    const by = fills || portions;
    if (by) {
      const n = round(factor.mul(by));
      return n.n ? [n.div(by), counted(n, fills ? rec.fills : rec.portions)] : undefined;
    }
    const g = factor.mul(f.total), step = kilosStep(g);
    const grams = round(g.div(step)).mul(step);
    return grams.n ? [grams.div(f.total), `${kilos(grams)} total`] : undefined;
  };
  // Whether every larger size has loads, too: of what is counted, every larger count.
  const anyLarger = (rec, f, factor, found) => {
    const by = q(f.kinds.fills) || q(f.kinds.portions);
    for (let more = 1; more <= 60; more++) {
      if (found.steps.every((s) => s.open)) return true;
      if (!by) return false;
      found = tried(rec, f, factor.add(q(more).div(by)));
      if (!found.steps) return false;
    }
    return false;
  };
  const thatDoes = (rec, f, factor, side) => {
    for (let i = 0; i < 20; i++) {
      const size = factor && near(rec, f, factor, side === "more");
      if (!size) return;
      const found = tried(rec, f, size[0]);
      if (found.steps) return [size[0], size[1] + (side === "more" && !rec.vessels && !rec.meets && anyLarger(rec, f, size[0], found) ? " or more" : "")];
      factor = found[side];
      if (!factor || !(side === "more" ? size[0].lt(factor) : factor.lt(size[0]))) return;
    }
  };
  // What a size takes that the stock is too small for: each item with what there is, and what the formula as written takes.
  const takesMore = (stock, [factor, words]) => {
    const lacking = Object.entries(stock).map(([item, [have, need]]) => [item, have, need.mul(factor)]).filter(([, have, g]) => have.lt(g));
    const needs = lacking.map(([item, , g]) => {
      const step = kilosStep(g);
      return `${kilos(g.div(step).ceil().mul(step))} of ${item.replaceAll("-", " ")}`;
    });
    const last = needs.pop(), all = needs.length ? `${needs.join(", ")} and ${last}` : last;
    return all ? `For ${words} you need ${all}.` : `Make ${words}.`;
  };
  const loadsOf = (rec, f, factor, stock) => {
    const found = tried(rec, f, factor);
    if (found.steps) return found.steps;
    const [code, message, help] = found.unfit, more = thatDoes(rec, f, found.more, "more"), less = thatDoes(rec, f, found.less, "less");
    const alone = help.replace(/^Or (.)/, (_, first) => first.toUpperCase());
    const sizes = stock ? [less && `Make ${less[1]}.`, more && takesMore(stock, more)].filter(Boolean).join(" ") :
      (more || less) && `Make ${[more && more[1], less && `${less[1]} at most`].filter(Boolean).join(", or ")}.`;
    refuse(code, [message, sizes, sizes ? help : alone].filter(Boolean).join(" "));
  };
  // Whole pieces, where the formula is made in pieces.
  const inPieces = (factor, f, rec, stock) => {
    if (!rec.pieces) return factor;
    const n = factor.mul(q(rec.pieces)).floor();
    if (!n.n) {
      const size = thatDoes(rec, f, ONE.div(q(rec.pieces)), "more");
      const fix = size && (stock ? takesMore(stock, size) : `Make ${size[1]}.`);
      refuse("size-below-a-piece", ["That is less than one piece.", fix].filter(Boolean).join(" "));
    }
    return n.div(q(rec.pieces));
  };
  // So much of a base that is measured; nothing where the text is no volume, for the weights to report.
  const volume = (text, rec) => {
    try {
      return read(text, rec.volumes, []);
    } catch (fault) {
      if (fault.code !== "unit-unknown") throw fault;
    }
  };
  const exact = (row, ...keys) => keys.reduce((o, k) => ({ ...o, [k]: q(row[k]) }), { ...row });

  const onHand = (have, rec, f) => {
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
    const full = hand.factor;
    hand.stock = all;
    hand.factor = inPieces(full, f, rec, all);
    for (const item in all) if (item !== hand.item || hand.factor.lt(full)) hand.left[item] = all[item][0].sub(all[item][1].mul(hand.factor));
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
      y.legs = f.to ? exact.sub(y.fills).mul(f.to) : ZERO;
    }
    const served = times(f.served) || y.yield;
    if (f.portion) [y.portions, y.portion] = [served.div(f.portion).floor(), f.portion];
    else if (f.per && exact) [y.portions, y.portion] = [(f.to ? exact : y.fills).mul(f.per).floor(), served.div(exact).div(f.per)];
    y.over = y.portions ? y.yield.sub(y.portions.mul(y.portion)) : ZERO;
    if (y.over.lt(ONE)) y.over = ZERO;
    if (y.portion && f.per && (f.light || f.heavy)) [y.from, y.to] = [y.portion.sub(f.light.div(f.per)), y.portion.add(f.heavy.div(f.per))];
    if (y.portion && f.per && f.beside) y.beside = f.beside.div(f.per);
    return y;
  };

  /** The batch of a page's record. `kind` is total, base, yield, fills or portions, and `text` how much;
      or "have" with [[item, amount], …]. Throws {code, message, write} for what the generator refuses. */
  const make = (rec, kind, text) => {
    ({ sign, us } = rec);
    const f = exact(rec, "base", "total", "filled", "finished", "yielded", "served", "fill", "portion", "per", "to", "beside");
    if (rec.light || rec.heavy) [f.light, f.heavy] = [q(rec.light || 0), q(rec.heavy || 0)];
    const hand = kind === "have" && onHand(text, rec, f), words = rec[kind];
    const count = kind === "fills" || kind === "portions";
    if (rec.no && rec.no[kind]) refuse("size-not-made", rec.no[kind]);
    if (count && !/^\d{1,6}$/.test(text)) refuse("whole-number-expected", `\`${text}\` is not a whole number of ${kind}.`);
    const ml = kind === "base" && rec.baseMl && volume(text, rec);
    let value = hand ? f.base.mul(hand.factor) : ml ? f.base.mul(ml).div(q(rec.baseMl)) : count ? read(`${text} each`, [], [["each", 1]]) : read(text, rec.units, (kind === "base" && rec.basePieces) || []);
    let label = count ? counted(value, words || [kind.slice(0, -1), kind]) : `${kilos(value)} ${hand ? "base" : kind}`;
    const portions = kind === "portions" && value;
    let over = rec.kinds[hand ? "base" : kind];
    if (!over) [over, value] = rec.pieces ? [rec.pieces, value.mul(f.to || ONE).div(f.per).ceil()] : [rec.kinds.fills, value.div(f.per).ceil()];
    const factor = inPieces(value.div(q(over)), f, rec);
    if (q(10000).lt(factor)) refuse("size-too-large", "That is over 10,000 times the formula. Check the figure.");
    if (rec.order && q(rec.order[0]).lt(factor)) refuse("not-to-order", rec.order[1]);
    const yields = yieldsAt(factor, f), steps = loadsOf(rec, f, factor, hand && hand.stock), lead = steps.find((s) => s.lead);
    if (rec.pieces && !(portions && !portions.lt(yields.portions)))
      label = !yields.legs.n ? counted(yields.fills, rec.fills) : f.per.toJSON() === f.to.toJSON() ? counted(yields.portions, rec.portions) : `${kilos(yields.total)} total`;
    const loads = lead && alike(lead.loads) ? lead.loads : { n: ONE, grams: yields.total };
    const scales = rec.scales.map(([id, name, division, accuracy, capacity, least, here, elsewhere, unit, unitG, places]) =>
      exact({ id, name, division, accuracy, capacity, least, here, elsewhere, unit, unitG, places }, "division", "accuracy", "capacity", "least", "unitG"));
    const lines = rec.lines.map((ln, i) => {
      const at = steps.find((s) => s.no === ln.at), n = at && alike(at.loads) ? at.loads.n : ONE, all = factor.mul(q(ln.g)), g = all.div(n), on = choose(g, q(ln.ok), scales);
      if (on.needs && ln.asneeded) [on.ok, on.needs] = [ONE];
      return { ...ln, shares: at && !alike(at.loads) ? at.loads.pieces : undefined, i, all, n, g, on, words: household(g, ln, factor, n), bought: all.div(ONE.sub(q(ln.trim || 0))) };
    });
    return { label, factor, hand, yields, steps, loads, lines, lead };
  };
  const shows = (scale, g) => fixed(g.div(scale.unitG), scale.places);
  const coarse = (on) => `Weighs to ±${small(off(on.scale, on.n), 3)}, ${plain(on.share.mul(q(1000)).ceil().div(q(10)), 1)} %. Needs one that reads ${plain(on.needs)} g.`;
  return { make, q, ZERO, plain, fixed, kilos, counted, shows, coarse, halfUp, whole: (v) => v.n };
})();
