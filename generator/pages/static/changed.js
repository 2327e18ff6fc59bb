// What changed since this phone last opened a formula: old → new, limits first, to be read and put away.
// What was read is kept on the phone (localStorage), a formula a key. Nothing is sent.
(() => {
  const root = new URL("..", document.currentScript.src);
  const key = (at) => `ks seen ${at}`;
  const el = (tag, ...children) => {
    const [name, ...cls] = tag.split("."), node = document.createElement(name);
    node.className = cls.join(" ");
    node.append(...children.flat().filter(Boolean));
    return node;
  };
  const read = (at) => {
    try {
      return JSON.parse(localStorage[key(at)]);
    } catch {}
  };
  const keep = (at, file) => {
    try {
      localStorage[key(at)] = JSON.stringify({ file, ...self.ksFacts[at] });
      return true;
    } catch {}
  };
  const load = (file) => new Promise((onload, onerror) =>
    document.head.append(Object.assign(document.createElement("script"), { src: new URL(file, root), onload, onerror })));
  const HEADS = { limits: "Limit", dates: "Dates", batch: "Weights", steps: "Steps", formula: "Formula", control: "Standard" };
  const changes = (old, now) => {
    const named = (rows) => new Map(rows.map(([group, size, name, words]) => [JSON.stringify([group, size, name]), words]));
    const before = named(old.rows), after = named(now.rows), found = [];
    for (const [fact, words] of after) if (before.get(fact) !== words) found.push([...JSON.parse(fact), before.get(fact) || "none", words]);
    for (const [fact, words] of before) if (!after.has(fact)) found.push([...JSON.parse(fact), words, "none"]);
    const order = Object.keys(HEADS);
    return found.sort((a, b) => order.indexOf(a[0]) - order.indexOf(b[0]));
  };
  const line = ([group, size, name, old, now]) =>
    el("li", el("span.ks-second", [HEADS[group], size].filter(Boolean).join(", ")), " ", el("b", name), ": ", old, " → ", el("b", now));
  /** What differs of a formula as a panel; nothing where nothing does. */
  const panel = async (at, file, title) => {
    const old = read(at);
    if (old && old.file === file) return;
    try {
      await load(file);
    } catch {
      return; // no signal: asked again
    }
    const now = self.ksFacts[at], found = old ? changes(old, now) : [];
    if (!found[0]) return void keep(at, file);
    const limits = found.filter(([group]) => group === "limits"), others = found.filter(([group]) => group !== "limits");
    const away = Object.assign(el("button.ks-button", "Read: put away"), { type: "button" }), full = el("p");
    const list = (rows) => el("ul", rows.map(line));
    const box = el("section.ks-news", el("h2", ...title), el("p.ks-second", `Then revision ${old.revision}, copy of ${old.day}. Now revision ${now.revision}.`),
      limits[0] ? list(limits) : el("p", "No limit changed."),
      others[0] && el("details.ks-why", el("summary", `${others.length} other change${others.length === 1 ? "" : "s"}`), list(others)), full, away);
    away.onclick = () => {
      if (keep(at, file)) box.remove();
      else full.textContent = "This phone is full: it can't keep that you read this. It will show it again.";
    };
    return box;
  };
  const page = document.querySelector(".ks-formula[data-facts]"), all = document.querySelector(".ks-news-all");
  if (page) panel(page.dataset.at, page.dataset.facts, ["Changed since you last opened it"]).then((box) => box && page.querySelector(".ks-allergens").before(box));
  if (all) (async () => {
    let opened = 0;
    let items = [...document.querySelectorAll("li[data-facts]")].map((item) => [item.dataset.at, item.dataset.facts, item.querySelector("a").cloneNode(true)]);
    // A list in parts: all of it is a script, asked for where this phone has opened a formula.
    const { all: list } = all.dataset, index = location.protocol === "file:" ? "index.html" : "";
    if (list && Object.keys(localStorage).some((name) => name.startsWith(key("")))) try {
      await load(list);
      items = self.ksFactsAll.map(([at, file, title]) => [at, file, Object.assign(el("a", title), { href: new URL(at + index, root) })]);
    } catch {
      return void (document.querySelector(".ks-news-none").textContent = "Not compared: no signal. Open each formula to see what changed in it.");
    }
    for (const [at, file, link] of items) {
      if (!read(at)) continue;
      opened += 1;
      const box = await panel(at, file, [link]);
      if (box) all.append(box);
    }
    if (opened) document.querySelector(".ks-news-none").textContent = `This phone has opened ${opened} formula${opened === 1 ? "" : "s"}. ${all.firstChild ? "Changed since:" : "Nothing in them has changed since."}`;
  })();
})();
