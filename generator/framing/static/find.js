// The search: every word typed, its beginnings, and words that differ from it by a letter or two.
// A hit is reached by the arrow keys and Enter, or by a tap; Escape closes.
{
  const [said, idle] = self.ksSaid;
  const boost = { title: 6, also: 4, kind: 1, words: 1.5, refs: 1 };
  const plain = (words) => words.normalize("NFD").replace(/[\u0300-\u036f’']/g, "").toLowerCase();
  const fields = Object.keys(boost);
  // The index in one piece; a large one comes in parts (parts.js), with the same answers.
  const whole = (rows) => {
    const engine = new MiniSearch({ fields, processTerm: plain }), names = {};
    engine.addAll(
      rows.map(([title, kind, , also, words, refs = []], id) => ({
        id, title, kind, also, words, refs: refs.map((n) => `${rows[n][0]} ${rows[n][3] || ""}`).join(" "),
      }))
    );
    rows.forEach(([title], id) => (names[` ${plain(title)}`] ||= []).push(id));
    return {
      search: (query, options) => engine.search(query, options),
      named: (name) => names[` ${name}`] || [],
      rank: (id) => [rows[id][1][0], rows[id][6] || 1],
      // A step says of which formula, and lies on its page.
      rows: (ids) => ids.map((id) => {
        const [title, kind, path, , , refs] = rows[id], of = kind === "Step" && rows[refs[0]];
        return of ? [title, kind, of[2] + path, of[0]] : rows[id];
      }),
      opened: (paths) => paths.flatMap((path) => rows.filter((row) => row[2] === path && row[1] !== "Step")),
      stations: () => rows.filter((row) => row[1] === "Station"),
    };
  };
  const index = self.ksIndex, from = index.map ? whole(index) : self.ksParts(index, fields, plain);
  // What the crew makes goes before what explains it; a page that says so comes last. A whole name comes first.
  const boostDocument = (id) => {
    const [kind, weight] = from.rank(id);
    return ({ F: 3, S: 1.5, P: 0.5 }[kind] || 1) * weight;
  };
  // What scores alike stays in the order of the index.
  const ordered = (found, called = [], is = new Set(called)) => found.sort((a, b) =>
    is.has(b.id) - is.has(a.id) || Math.round(b.score * 1e9) - Math.round(a.score * 1e9) || a.id - b.id);
  // What is typed as a question: what a cook calls a thing is the manual's words for it, any of them; words that
  // are in every question count only where there are no others.
  const question = (typed, combineWith) => {
    let rest = ` ${plain(typed).trim().replace(/[^\p{L}\p{N}.,-]+/gu, " ")} `;
    const queries = said.flatMap(([words, finds]) => {
      if (!rest.includes(` ${words} `)) return [];
      rest = rest.replace(` ${words} `, " ");
      return { combineWith: "OR", queries: [...finds.split(" "), words] };
    });
    const words = rest.split(" ").filter(Boolean), asked = words.filter((word) => !idle.includes(word));
    return { combineWith, queries: [...queries, ...(asked[0] || queries[0] ? asked : words)] };
  };
  const sure = (typed, combineWith = "AND") =>
    typed.trim() ? ordered(from.search(question(typed, combineWith), { boost, boostDocument, prefix: true }), from.named(plain(typed).trim())) : [];
  const near = (word, fuzzy) => word.length > fuzzy * 2 + 1 && ordered(from.search(word, { fuzzy }))[0]?.terms.sort()[0];
  // A word that leads nowhere: two of its letters swapped, or the nearest word by a letter or two.
  const correct = (word) =>
    sure(word)[0] ? word : [...word].map((sign, i) => word.slice(0, i) + word.slice(i + 1, i + 2) + sign + word.slice(i + 2)).find((other) => sure(other)[0]) || near(word, 1) || near(word, 2) || word;
  const ask = (typed) => {
    const found = sure(typed);
    if (found[0] || !typed.trim()) return [found];
    from.spelled?.();
    const corrected = plain(typed).trim().split(/\s+/).map(correct).join(" ");
    return [sure(corrected)[0] ? sure(corrected) : sure(corrected, "OR"), corrected];
  };

  const box = document.createElement("dialog");
  box.className = "ks-search";
  box.ariaLabel = "Search";
  box.innerHTML = `<div><input type="text" role="combobox" aria-label="Search" aria-expanded="false" aria-controls="ks-hits" aria-autocomplete="list" autocomplete="off" autocapitalize="off" spellcheck="false" placeholder="Formula, step, 75, allergen"><button type="button">Close</button></div><p role="status"></p><div role="listbox" id="ks-hits" aria-label="Found"></div>`;
  document.body.append(box);
  const [input, close, reported, hits] = box.querySelectorAll("input, button, p, #ks-hits");

  let root, end, at;
  const choose = (number) => {
    const all = hits.querySelectorAll("a");
    all[at]?.setAttribute("aria-selected", false);
    at = all[0] ? (number + all.length) % all.length : -1;
    all[at]?.setAttribute("aria-selected", true);
    all[at]?.scrollIntoView({ block: "nearest" });
    input.setAttribute("aria-activedescendant", all[at]?.id || "");
  };
  const make = (tag, more, ...children) => {
    const node = Object.assign(document.createElement(tag), more);
    node.append(...children);
    return node;
  };
  const link = (title, words, path) => {
    const a = make("a", { role: "option", tabIndex: -1, ariaSelected: "false" },
      ...[title, words].map((textContent) => make("span", { textContent })));
    a.href = new URL(path.replace(/(?=#|$)/, end), root);
    return a;
  };
  const hit = ([title, kind, path, of], match) => {
    const known = plain(title + kind), terms = Object.keys(match).sort().filter((term) => !known.includes(term));
    return link(title, kind === "Step" ? of : [kind, ...terms.slice(0, 3)].join(" · "), path);
  };
  const group = (label, links) => links[0] && make("div", { role: "group", ariaLabel: label }, make("p", { textContent: label }), ...links);
  // Before anything is typed: what was opened last on this phone, and the stations.
  const at_hand = () => {
    let opened = [];
    try {
      opened = JSON.parse(localStorage.ksOpened || "[]");
    } catch {}
    const links = (found) => found.map(([title, kind, path]) => link(title, kind, path));
    return [group("Opened last", links(from.opened(opened))), group("Stations", links(from.stations()))];
  };
  const show = () => {
    const [found, corrected] = ask(input.value), typed = input.value.trim();
    const isGuide = ({ id }) => from.rank(id)[1] < 1;
    const own = found.filter((one) => !isGuide(one)).slice(0, 40), best = [...own, ...found.filter(isGuide).slice(0, 20)];
    const rows = from.rows(best.map(({ id }) => id)), all = best.map(({ match }, i) => hit(rows[i], match));
    const shown = typed ? [...all.slice(0, own.length), group("In the guide", all.slice(own.length))] : at_hand();
    hits.replaceChildren(...shown.filter(Boolean));
    hits.querySelectorAll("a").forEach((a, number) => (a.id = `ks-hit-${number}`));
    reported.textContent = !typed ? "" : found[0] ? `${found.length} found${corrected ? ` for ${corrected}` : ""}` : "Nothing found. Try fewer letters.";
    input.setAttribute("aria-expanded", !!hits.firstChild);
    choose(0);
  };
  // Of an index in parts, what isn't here yet is fetched, once typing pauses; then it is asked again.
  let turn = 0, entered;
  input.oninput = async () => {
    const mine = ++turn;
    for (;;) {
      try {
        show();
        hits.ariaBusy = false;
        if (entered === mine) hits.querySelectorAll("a")[at]?.click();
        return;
      } catch (fetched) {
        if (typeof fetched !== "function") throw fetched;
        hits.replaceChildren();
        hits.ariaBusy = true;
        reported.textContent = "Searching …";
        await new Promise((later) => setTimeout(later, 120));
        if (mine !== turn) return;
        try {
          await fetched();
        } catch {
          if (mine === turn) reported.textContent = "Can't search for this: no signal, or the manual has changed. Load the page again.";
          return;
        }
        if (mine !== turn) return;
      }
    }
  };
  input.onkeydown = (event) => {
    const { key } = event;
    if (key === "ArrowDown") choose(at + 1);
    else if (key === "ArrowUp") choose(at - 1);
    else if (key === "Enter") hits.ariaBusy === "true" ? (entered = turn) : hits.querySelectorAll("a")[at]?.click();
    else return;
    event.preventDefault();
  };
  box.oncancel = (event) => (event.preventDefault(), history.back());
  close.onclick = () => history.back();
  hits.onclick = (event) => {
    const to = event.target.closest("a");
    if (to && to.hash && to.pathname + to.search === location.pathname + location.search) box.close();
    self.ksLeave(event);
  };
  self.ksFind = (...where) => {
    [root, end] = where;
    box.showModal();
    self.ksOpen(() => box.close());
    input.select();
    if (!input.value.trim()) input.oninput();
  };
}
