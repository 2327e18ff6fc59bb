// Comfort only: the page works without it.
(() => {
  const all = (selector, root = document) => [...root.querySelectorAll(selector)];
  self.ksSaid ||= (node) => node.textContent; // what was written; told.js knows it in another language

  const place = document.querySelector(".ks-formula[data-at]");
  if (place) try {
    const { at } = place.dataset, opened = JSON.parse(localStorage.ksOpened || "[]");
    localStorage.ksOpened = JSON.stringify([at, ...opened.filter((other) => other !== at)].slice(0, 5));
  } catch {}

  const links = all(".ks-bar a[href^='#']:not(.ks-bar-size, .ks-bar-limits)");
  const heads = links.map((a) => document.getElementById(a.hash.slice(1)));
  const here = () => {
    let at = 0;
    heads.forEach((head, i) => {
      if (head && head.getBoundingClientRect().top < innerHeight / 2) at = i;
    });
    links.forEach((a, i) => {
      a.classList.toggle("ks-here", i === at);
      if (i === at) a.setAttribute("aria-current", "true");
      else a.removeAttribute("aria-current");
    });
  };
  if (links.length) {
    addEventListener("scroll", here, { passive: true });
    here();
  }

  const report = () =>
    all(".ks-size").forEach((size) => {
      const picks = all(".ks-loadbar .ks-radio", size);
      picks.forEach((pick, i) => {
        const ticks = all(`.ks-load-${i} .ks-tick`, size);
        const done = ticks.filter((t) => t.checked).length;
        const words = done === ticks.length ? "done" : `${done} of ${ticks.length}`;
        const count = pick.parentElement.querySelector(".ks-count");
        if (count) count.textContent = words;
      });
    });
  addEventListener("change", report);
  report();
  addEventListener("click", ({ target }) => {
    if (target.matches(".ks-next label")) document.getElementById("weigh").scrollIntoView();
  });

  // Scripts of some pages alone.
  const { src } = document.currentScript;
  const add = (name) => document.head.append(Object.assign(document.createElement("script"), { src: src.replace(/manual\.js.*/, name) }));
  if (document.querySelector("table.ks-reg")) add("register.js");
  try {
    if (!place && localStorage["ks units"]) add("stays.js");
  } catch {}
  // What changed since it was opened: when the page is there.
  const { at: where, facts } = place ? place.dataset : {};
  const same = () => {
    try {
      return JSON.parse(localStorage[`ks seen ${where}`]).file === facts;
    } catch {}
  };
  if (document.querySelector(".ks-news-all") || (facts && !same())) addEventListener("load", () => setTimeout(add, 300, "changed.js"));

  let opened = [];
  addEventListener("beforeprint", () => {
    const copy = document.querySelector(".ks-copy");
    if (copy) document.documentElement.style.setProperty("--ks-copy", JSON.stringify(copy.textContent));
    opened = all(".ks details:not([open])");
    opened.forEach((fold) => (fold.open = true));
  });
  addEventListener("afterprint", () => opened.forEach((fold) => (fold.open = false)));
})();
