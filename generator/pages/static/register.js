// The register: of one station, of one hazard, in the order of any column. Without it all of it shows.
// Of a register in parts there is none: it would answer for one part alone.
if (!document.querySelector(".ks-parts, .ks-part-of")) {
  const all = (selector, root = document) => [...root.querySelectorAll(selector)];
  const make = (tag, more) => Object.assign(document.createElement(tag), more);
  const sections = all(".ks-register table.ks-reg").map((table) => table.closest("section"));
  const name = (section) => ksSaid(section.querySelector("h2 b"));
  const pick = (label, words) => {
    const select = make("select"), box = make("label");
    select.append(new Option("all", ""), ...words.map((word) => new Option(word, word)));
    box.append(label, " ", select);
    return [box, select];
  };
  const [where, station] = pick("Station", [...new Set(all(".ks-reg-station").map(ksSaid))].sort());
  const [what, hazard] = pick("Hazard", sections.map(name));
  const bar = make("p", { className: "ks-filter" }), number = make("span", { role: "status" });
  bar.append(where, " ", what, " ", number);
  sections[0].before(bar);
  bar.onchange = () => {
    let shown = 0;
    for (const section of sections) {
      const rows = all("tbody tr", section), off = hazard.value && name(section) !== hazard.value;
      for (const tr of rows) tr.hidden = off || (station.value && ksSaid(tr.lastElementChild) !== station.value);
      const left = rows.filter((tr) => !tr.hidden).length;
      section.hidden = !left;
      shown += left;
    }
    number.textContent = `${shown} shown`;
  };
  for (const th of all("table.ks-reg thead th")) {
    const key = make("button", { type: "button", textContent: th.textContent });
    th.replaceChildren(key);
    key.onclick = () => {
      const down = th.ariaSort === "ascending", words = (tr) => tr.cells[th.cellIndex].textContent;
      for (const other of th.parentElement.cells) other.removeAttribute("aria-sort");
      th.ariaSort = down ? "descending" : "ascending";
      const body = th.closest("table").tBodies[0];
      const rows = [...body.rows].sort((a, b) => words(a).localeCompare(words(b), undefined, { numeric: true }));
      body.append(...(down ? rows.reverse() : rows));
    };
  }
}
