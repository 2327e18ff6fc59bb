// The search: every word typed, its beginnings, and words that differ from it by a letter or two.
// A hit is reached by the arrow keys and Enter, or by a tap; Escape closes.
{
  const rows = self.ksIndex;
  const boost = { title: 6, also: 4, kind: 1, words: 1.5, refs: 1 };
  const plain = (words) => words.normalize("NFD").replace(/[\u0300-\u036f’']/g, "").toLowerCase();
  const engine = new MiniSearch({ fields: Object.keys(boost), processTerm: plain });
  engine.addAll(
    rows.map(([title, kind, , also, words, refs = []], id) => ({
      id, title, kind, also, words, refs: refs.map((n) => rows[n][0] + " " + rows[n][3]).join(" "),
    }))
  );
  // What the crew makes goes before what explains it; a page that says so comes last. A whole name comes first.
  const boostDocument = (id) => (({ F: 2, P: 0.5 })[rows[id][1][0]] || 1) * (rows[id][6] || 1);
  const called = (typed) => ({ id }) => plain(rows[id][0]) === plain(typed).trim();
  const sure = (typed, combineWith = "AND", is = called(typed)) =>
    engine.search(typed, { boost, boostDocument, combineWith, prefix: true }).sort((a, b) => is(b) - is(a));
  const near = (word, fuzzy) => word.length > fuzzy * 2 + 1 && engine.search(word, { fuzzy })[0]?.terms[0];
  // A word that leads nowhere: two of its letters swapped, or the nearest word by a letter or two.
  const correct = (word) =>
    sure(word)[0] ? word : [...word].map((sign, i) => word.slice(0, i) + word.slice(i + 1, i + 2) + sign + word.slice(i + 2)).find((other) => sure(other)[0]) || near(word, 1) || near(word, 2) || word;
  const ask = (typed) => {
    if (sure(typed)[0]) return [sure(typed)];
    const corrected = plain(typed).trim().split(/\s+/).map(correct).join(" ");
    return [sure(corrected)[0] ? sure(corrected) : sure(corrected, "OR"), corrected];
  };

  const box = document.createElement("dialog");
  box.className = "ks-search";
  box.ariaLabel = "Search";
  box.innerHTML = `<div><input type="text" role="combobox" aria-label="Search" aria-expanded="false" aria-controls="ks-hits" aria-autocomplete="list" autocomplete="off" autocapitalize="off" spellcheck="false" placeholder="Formula, ingredient, allergen, step"><button type="button">Close</button></div><p role="status"></p><div role="listbox" id="ks-hits" aria-label="Found"></div>`;
  document.body.append(box);
  const [input, close, reported, hits] = box.querySelectorAll("input, button, p, #ks-hits");

  let root, index, at;
  const choose = (number) => {
    const all = hits.children;
    all[at]?.setAttribute("aria-selected", false);
    at = all[0] ? (number + all.length) % all.length : -1;
    all[at]?.setAttribute("aria-selected", true);
    all[at]?.scrollIntoView({ block: "nearest" });
    input.setAttribute("aria-activedescendant", all[at]?.id || "");
  };
  const hit = ({ id, match }, number) => {
    const [title, kind, path] = rows[id];
    const known = plain(title + kind);
    const a = document.createElement("a");
    a.id = `ks-hit-${number}`;
    a.setAttribute("role", "option");
    a.setAttribute("aria-selected", false);
    a.tabIndex = -1;
    a.href = new URL(path.replace(/(?=#|$)/, index), root);
    for (const words of [title, [kind, ...Object.keys(match).filter((term) => !known.includes(term)).slice(0, 3)].join(" · ")])
      a.append(Object.assign(document.createElement("span"), { textContent: words }));
    return a;
  };
  input.oninput = () => {
    const [found, corrected] = ask(input.value);
    hits.replaceChildren(...found.slice(0, 40).map(hit));
    reported.textContent = !input.value.trim() ? "" : found[0] ? `${found.length} found${corrected ? ` for ${corrected}` : ""}` : "Nothing found. Try fewer letters.";
    input.setAttribute("aria-expanded", !!found[0]);
    choose(0);
  };
  input.onkeydown = (event) => {
    const { key } = event;
    if (key === "ArrowDown") choose(at + 1);
    else if (key === "ArrowUp") choose(at - 1);
    else if (key === "Enter") hits.children[at]?.click();
    else return;
    event.preventDefault();
  };
  hits.onclick = close.onclick = () => box.close();
  self.ksFind = (...where) => {
    [root, index] = where;
    box.showModal();
    input.select();
  };
}
