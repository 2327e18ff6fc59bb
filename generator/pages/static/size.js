// A batch of any size on the page, in the form of the kitchen's first one, and the sheet that asks for
// it. What is worked out comes from batch.js; names, links and notes come from the page.
self.ksSize = ({ page, record, all, one, el, count, change, named, dress }) => {
  const { make, q, plain, fixed, kilos, counted, shows, coarse, halfUp } = self.ksBatch;
  const NB = "\u00a0", ZERO = q(0), ONE = q(1), MOST = 12;
  // How a size is written in an address: "total=5 kg", "have=turkey-thigh:4 kg;chives:90 g".
  const batchOf = (name) => {
    const [kind, text] = name.split(/=(.*)/s);
    return make(record, kind, kind === "have" ? text.split(";").map((pair) => pair.split(/:(.*)/s)) : text);
  };

  // The other system, from what the scale shows, losing no step of it.
  const us = page.dataset.other[1] === "F", unit = us ? q(record.units.find((u) => u.includes("oz"))[0]) : ONE;
  const other = (g, { division, unit: own }) => {
    if (/oz|lb/.test(own) === us) return ["", ""];
    let places = 0, step = ONE;
    while (division.lt(unit.mul(step))) [places, step] = [places + 1, step.div(q(10))];
    const all = halfUp(g.div(unit), step), pounds = us ? all.div(q(16)).floor() : ZERO;
    return [(pounds.n ? `${plain(pounds)}${NB}lb${NB}` : "") + fixed(all.sub(pounds.mul(q(16))), places), us ? "oz" : "g"];
  };
  const alt = (tag, words, other) => {
    const node = el(tag, words);
    if (other) node.dataset.alt = other;
    return node;
  };
  const shown = (tag, g, scale, after = "", oz = 1) =>
    alt(tag, `${shows(scale, g)}${NB}${scale.unit}${after}`, oz && other(g, scale).filter(Boolean).join(NB) + after);
  const total = (lines, grams, tag = "b") => {
    const scales = lines.map((ln) => ln.on.scale), top = scales.reduce((a, b) => (a.division.lt(b.division) ? b : a));
    const g = lines.reduce((sum, ln) => sum.add(grams(ln)), ZERO);
    return scales.every((s) => s.unit === top.unit) ? shown(tag, g, top) : el(tag, kilos(g));
  };

  // What a batch gives, in the words of the kitchen's sizes.
  const rounded = (g) => kilos(g.lt(q(10)) ? g : halfUp(g));
  const eachOf = ({ portion, from, to, beside }) => {
    const alone = (g) => rounded(beside ? g.sub(beside) : g), more = beside ? `, and ${rounded(beside)} each of what it lies in` : "";
    return `${from || beside ? "about " : ""}${alone(portion)}${from ? `, ${alone(from)} to ${alone(to)}` : ""}${more}`;
  };
  const gets = ({ yields: y }) => (y.portions
    ? [el("b", counted(y.portions, record.portions)), ` of ${eachOf(y)}`]
    : el("b", y.fills ? counted(y.fills, record.fills) : kilos(y.yield)));
  // The last fill, which isn't full: it holds the pieces that are left.
  const lastOf = ({ fills, legs }) => `${fills.n ? `${counted(fills, record.fills)} and one` : counted(q(1), record.fills)} of ${counted(legs, record.legs)}`;
  const nameOf = (item) => ksSaid(one(`.ks-ask option[value="${item}"]`));
  // Of the base on hand it is said first what it makes: "4.2 kg of meat makes 7 rolls".
  const made = (name, { yields: y }) => {
    const [kind, text] = name.split(/=(.*)/s);
    return kind === "base" ? [el("b", `${text.replace(/ /g, NB)} of ${asks.dataset.base}`), ` makes ${y.fills ? counted(y.fills, record.fills) : y.portions ? counted(y.portions, record.portions) : kilos(y.yield)}. `] : [];
  };
  // Ten times what the kitchen makes, and more than it ever makes, is asked about.
  const usual = () => record.sizes.map(([kind, text]) => make(record, kind, text));
  const huge = (batch) => {
    const own = usual(), times = batch.factor.div(own[0].factor);
    return !times.lt(q(10)) && own.every((one) => one.factor.lt(batch.factor)) ? `That is ${plain(times.floor())} times the usual ${own[0].label}.` : "";
  };
  const gives = (batch) => {
    const { hand, loads, lines } = batch, words = ["Weigh ", total(lines, (ln) => ln.on.grams.mul(ln.n))];
    if (ONE.lt(loads.n)) words.push(", in ", el("b", counted(loads.n, ["load", "loads"])));
    words.push(". You get ", gets(batch), ".");
    if (hand) {
      const left = Object.keys(hand.left).map((item) => `${nameOf(item)} ${kilos(hand.left[item])}`);
      words.push(` ${nameOf(hand.item)} runs out first.${left[0] ? ` Left over: ${left.join(", ")}.` : ""}`);
    }
    return words.flat();
  };

  // One row: the kitchen's own, with this batch's figures.
  const first = one(".ks-size"), rowOf = (ln) => one(`.ks-row[data-i="${ln.i}"]`, first);
  const reads = (scale) => `${plain(scale.division.div(scale.unitG))}${NB}${scale.unit}`;
  const strip = (scale) => [el("b", scale.name), " ", el("span", reads(scale))];
  const row = (ln, id, fresh, headed) => {
    const { on } = ln, { scale } = on, node = rowOf(ln).cloneNode(true), at = (name) => one(name, node);
    const [whole, rest = ""] = shows(scale, on.grams).split(/(?=[.,])/), [words, unit] = ln.oz ? other(on.grams, scale) : ["", ""];
    const [before, after = ""] = words.split(/(?=[.,])/);
    at("input").id = at("label").htmlFor = id;
    at("input").checked = false;
    at(".ks-note").textContent = ln.asneeded ? "as needed, about" : [ln.words, ln.made && "made ahead"].filter(Boolean).join(", ");
    at(".ks-num").replaceChildren(alt("b", whole, before),
      el("i", unit ? alt("span", rest, after || " ") : rest, el("u", NB, alt("span", scale.unit, unit))));
    at(".ks-hide").textContent = `${whole}${rest}${NB}${scale.unit}`;
    if (unit) at(".ks-hide").dataset.alt = `${words}${NB}${unit}`;
    at(".ks-on").replaceChildren(el(fresh ? "b" : "span", scale.name), fresh ? el("span", ` ${reads(scale)} steps`) : "");
    all(".ks-of-size, .ks-more", node).forEach((old) => old.remove());
    if (on.needs && !ln.asneeded) at("label").after(el("p.ks-remark", el("b", "Scale too coarse."), ` ${coarse(on)}`));
    if (ln.shares) at("label").after(el("p.ks-remark", `For all ${ln.shares.length} loads: `, el("b", `${ln.shares.slice(0, -1).join(", ")} and ${ln.shares.at(-1)} of ${ln.shares.reduce((a, b) => a + b)}.`)));
    if (ONE.lt(on.n)) at("label").after(el("p.ks-remark", `In ${plain(on.n)} weighings of `, shown("b", on.each, scale, ":", ln.oz),
      ` with its tub on, the scale holds ${kilos(scale.capacity)}.`));
    return [fresh && !headed && el("li.ks-scale", ...strip(scale)), node];
  };
  const parts = (lines, prefix) => {
    const found = [];
    let part, scale, list, begins;
    lines.forEach((ln, i) => {
      const head = one("h3", rowOf(ln).closest(".ks-part")).textContent;
      if (head !== part) {
        found.push(el("section.ks-part", el("div.ks-part-head", el("h3", (part = head)), ln.on.scale.name !== scale && el("p.ks-scale", ...strip(ln.on.scale))), (list = el("ul.ks-rows"))));
        if (ln.on.scale.name !== scale) [scale, begins] = [ln.on.scale.name, true];
      }
      list.append(...row(ln, prefix + (i + 1), begins || ln.on.scale.name !== scale, begins).filter(Boolean));
      begins = false;
      scale = ln.on.scale.name;
    });
    return found;
  };
  const label = (id, cls, ...words) => Object.assign(el("label." + cls, ...words), { htmlFor: id });
  const radio = (name, id, cls, checked) => Object.assign(el("input.ks-radio." + cls), { type: "radio", name, id, checked, autocomplete: "off" });
  const section = (batch) => {
    // What is weighed together, in the order of the steps.
    const n = Number(batch.loads.n.n), many = n > 1, loads = [...Array(n).keys()], groups = [];
    [...batch.lines].sort((a, b) => a.in - b.in).forEach((ln) => {
      const at = ONE.lt(ln.n) ? ln.at : 0, group = (at ? groups : groups.slice(-1)).find((g) => g.at === at);
      group ? group.lines.push(ln) : groups.push({ at, lines: [ln], leads: many && at === batch.lead.no });
    });
    groups.forEach((g) => g.lines.sort((a, b) => a.i - b.i));
    const tabbed = groups.find((g) => (many ? g.leads : !g.at)), each = tabbed ? tabbed.lines : [];
    const box = el(`section.ks-size.ks-for.ks-for-x${n > MOST ? ".ks-all" : ""}`), load = () => total(each, (ln) => ln.on.grams, "span");
    const bar = () => {
      const found = el("div.ks-segments.ks-loadbar", loads.map((l) =>
        label(`sxl${l}`, "ks-segment", radio("ks-load-x", `sxl${l}`, `ks-lpick-${l}`, !l), el("b", `Load ${l + 1}`), " ", el("span", load(), el("span.ks-count")))));
      [found.role, found.ariaLabel] = ["radiogroup", "Load"];
      return found;
    };
    const several = groups.some((g) => g.at && !g.leads), byLoad = () => loads.forEach((l) => box.append(el(`div.ks-load.ks-load-${l}`,
      many && el("h3.ks-only-plain.ks-load-head", `Load ${l + 1} of ${n}: `, load()), parts(each, `wx-${l}-`),
      l + 1 < n && n <= MOST && el("p.ks-next", label(`sxl${l + 1}`, "ks-button", `Load ${l + 1} weighed: go to load ${l + 2}`)))));
    groups.forEach(({ at, lines, leads }, g) => {
      const step = batch.steps.find((s) => s.no === at), head = (words) => box.append(el("h3.ks-whole", words));
      if (leads && (several || g)) head(`${step.name}: ${n} loads`);
      if (!at && groups[1]) head("Once, for the whole batch");
      if (leads && n <= MOST) box.append(bar());
      if (lines === each) byLoad();
      else if (!at) box.append(...parts(lines, `vx-${g}-`));
      else [...Array(Number(step.loads.n.n)).keys()].forEach((l) => box.append(el("section.ks-other-load",
        el("h3.ks-whole", `${step.name}, load ${l + 1} of ${plain(step.loads.n)}: `, total(lines, (ln) => ln.on.grams, "span")), ...parts(lines, `ox-${g}-${l}-`))));
    });
    // The folds are the kitchen's, with this batch's figures in their order.
    const folds = all(":scope > details", first).map((fold) => fold.cloneNode(true)), why = folds.at(-1);
    const trimmed = batch.lines.filter((ln) => ln.trim), ahead = (record.ahead || []).map(([g, n, ...words]) => {
      const grams = kilos(q(g).mul(batch.factor)), count = n && q(n).mul(batch.factor);
      if (!count) return grams;
      return count.d === 1n ? `${counted(count, words)}, ${grams}` : `${grams}, out of ${counted(q((count.n + count.d - 1n) / count.d), words)}`;
    });
    folds.forEach((fold) => {
      if (fold.matches(".ks-ahead")) all("dt", fold).forEach((dt, i) => (dt.textContent = ahead[i]));
      else if (fold !== why) all("dd", fold).forEach((dd, i) => (dd.textContent = `${kilos(trimmed[i].bought)} as purchased for ${kilos(trimmed[i].all)} trimmed`));
    });
    all(".ks-weighing", why).forEach((words, i) => {
      const ln = batch.lines[i];
      if (ln) words.textContent = `exactly ${plain(ln.g, 3)}${NB}g${ONE.lt(ln.n) ? " a load" : ""}; weighed to ±${plain(ln.on.share.mul(q(100)), 2)}${NB}%, permitted ${plain(ln.on.ok.mul(q(100)))}${NB}%`;
      else if (i > batch.lines.length) { // behind the lines is which scales count, the same for every size
        words.textContent = batch.steps.filter((step) => step.volume)[i - batch.lines.length - 1].words;
        words.nextElementSibling.remove();
      }
    });
    box.append(...folds);
    box.ariaLabel = batch.label;
    return box;
  };
  const place = (name) => {
    const batch = batchOf(name), { loads, yields: y } = batch, [figure, ...noun] = batch.label.split(NB), nodes = [];
    const add = (how, at, node) => nodes.push((at[how](node), node));
    const sized = (tag, ...words) => el(tag + ".ks-for.ks-for-x", ...words);
    all("[data-x]").forEach((old) => old.remove());
    add("append", one(".ks-picks"), label("sx", "ks-segment", radio("ks-size", "sx", "ks-pick", true), el("b", figure), " ", el("span", noun.join(NB))));
    add("append", one(".ks-gives"), sized("p", gives(batch)));
    add("after", all(".ks-size").at(-1), section(batch));
    add("append", one(".ks-bar-size"), sized("span", el("b", batch.label), " ", 
      ...(loads.n.n > 1n && loads.n.n < 5n ? [1, 2, 3, 4].slice(0, Number(loads.n.n)).map((l) => el(`small.ks-now.ks-now-x-${l - 1}`, `load ${l} of ${plain(loads.n)}`))
        : ONE.lt(loads.n) ? [el("small", counted(loads.n, ["load", "loads"]))] : [])));
    batch.steps.forEach((s) => add("append", one(`#step-${s.no} .ks-machine`), sized("span", ` · ${s.words}`)));
    const over = (g, words) => (g && g.n ? `, ${kilos(g)} ${words}` : "");
    const rows = [gets(batch), y.fills && y.filled ? `${kilos(y.filled)} in ${y.legs.n ? lastOf(y) : `${counted(y.fills, record.fills)} of ${record.filling}${over(y.rest, y.filled.toJSON() === y.yield.toJSON() ? "over" : "over as filled")}`}` : y.filled && kilos(y.filled),
      kilos(y.yield) + (y.ends.n ? ` sliced, ${kilos(halfUp(y.ends))} ends` : "") + (record.portion ? over(halfUp(y.over), "over") : "")].filter(Boolean);
    const got = one(".ks-yield").cloneNode(true);
    got.className = "ks-yield ks-for ks-for-x";
    all("dd", got).forEach((dd, i) => dd.replaceChildren(...[rows[i]].flat()));
    add("after", all(".ks-yield").at(-1), got);
    nodes.forEach((node) => (dress(node), (node.dataset.x = "")));
    named(name, batch.label);
  };

  // The sheet. A single first choice says what is known; an ingredient says "I have".
  const sheet = one(".ks-sheet"), asks = one(".ks-asks"), tells = one(".ks-reports"), [more, go, close] = all("button", sheet), warns = one(".ks-warns");
  const home = one(".ks-much"), sizes = one(".ks-sizes"), blank = one(".ks-ask").cloneNode(true), reported = ksSaid(warns);
  const fields = (ask) => [...ask.querySelectorAll("select, input")];
  const owned = all(".ks-own-ask input"), unitOf = (input) => one("select", input.parentElement);
  // The field typed in last is the one that counts: the others are emptied.
  const onlyOne = (target) => {
    const own = owned.includes(target) || owned.some((input) => unitOf(input) === target);
    if (own && target.matches("select")) return;
    owned.forEach((input) => input !== target && (input.value = ""));
    if (own) all(".ks-ask input").forEach((input) => (input.value = ""));
  };
  const asked = () => {
    const own = owned.find((input) => input.value.trim());
    if (own) {
      const text = own.value.trim(), unit = unitOf(own);
      return `${own.dataset.kind}=${unit && !/[a-zÀ-ÖØ-öø-ÿĀ-ſ%]/i.test(text) ? `${text} ${unit.value}` : text}`;
    }
    const filled = all(".ks-ask").map((ask) => {
      const [what, figure, unit] = fields(ask), text = figure.value.trim();
      return text && [what.value, unit.hidden || /[a-zÀ-ÖØ-öø-ÿĀ-ſ%]/i.test(text) ? text : `${text} ${unit.value}`];
    }).filter(Boolean);
    if (!filled[0] || filled[0][0] in record.kinds || filled[0][0] === "portions") return filled[0] && filled[0].join("=");
    return "have=" + filled.map((pair) => pair.join(":")).join(";");
  };
  const refused = (e) => {
    if (!e.code) throw e;
    return [el("b", "Not possible."), " ", ...e.message.split("\x60").map((text, i) => (i % 2 ? el("b", text) : text))];
  };
  const report = () => {
    all(".ks-ask").forEach((ask) => {
      const [what, , unit] = fields(ask), line = record.lines.find((ln) => ln.item === what.value), { value } = unit;
      unit.hidden = what.value === "fills" || what.value === "portions";
      unit.replaceChildren(...[...all("option", fields(blank)[2]).map((o) => o.value), ...((line && line.pieces) || []).map((p) => p[0])].map((u) => el("option", u)));
      if (value) unit.value = value;
      more.hidden = !line;
    });
    const name = asked(), ticks = count();
    go.disabled = true;
    go.textContent = "Weigh";
    warns.textContent = (ticks ? `You have ${ticks === 1 ? "1 tick" : `${ticks} ticks`}: the next question is what becomes of ${ticks === 1 ? "it" : "them"}. ` : "") + reported;
    tells.replaceChildren();
    if (name) try {
      const batch = batchOf(name);
      tells.append(...made(name, batch), ...gives(batch));
      if (huge(batch)) tells.append(el("br"), el("b", huge(batch)), " Is it right?");
      batch.lines.filter((ln) => ln.on.needs && !ln.asneeded).forEach((ln) => tells.append(el("br"), el("b", "Scale too coarse."), ` ${nameOf(ln.item)}: ${coarse(ln.on)}`));
      dress(tells);
      go.textContent = `${huge(batch) ? "Yes, weigh" : "Weigh"} ${batch.label}`;
      go.disabled = false;
    } catch (e) {
      tells.append(...refused(e));
    }
  };
  sheet.oninput = sheet.onchange = ({ target }) => (target.name === "ks-size" ? sheet.close() : (target.matches("input, .ks-own-ask select") && onlyOne(target), report()));
  more.onclick = () => {
    const ask = blank.cloneNode(true);
    all("option", ask).filter((o) => o.value in record.kinds || o.value === "portions").forEach((o) => o.remove());
    asks.append(ask);
    report();
  };
  go.onclick = () => {
    place(asked());
    change();
    sheet.close();
    one("#weigh").scrollIntoView();
  };
  close.onclick = () => sheet.close();
  sheet.onclose = () => home.children[0].after(sizes);
  return {
    open() {
      one("h2", sheet).after(sizes);
      sheet.showModal();
      report();
    },
    take(name) {
      try {
        place(name);
        const words = huge(batchOf(name));
        if (words) one(".ks-gives .ks-for-x").prepend(el("b.ks-huge", words), " ");
      } catch (e) {
        one(".ks-gives").prepend(el("p.ks-refused", refused(e)));
      }
    },
  };
};
