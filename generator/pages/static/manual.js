// Comfort only: the page works whole without it. Marks where one is, counts ticks, and opens the
// folds for paper. Nothing is stored and nothing is sent.
(() => {
  const all = (selector, root = document) => [...root.querySelectorAll(selector)];

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
        if (count) count.textContent = ` · ${words}`;
      });
    });
  addEventListener("change", report);
  report();
  addEventListener("click", ({ target }) => {
    if (target.matches(".ks-next label")) document.getElementById("weigh").scrollIntoView();
  });

  let opened = [];
  addEventListener("beforeprint", () => {
    opened = all(".ks details:not([open])");
    opened.forEach((fold) => (fold.open = true));
  });
  addEventListener("afterprint", () => opened.forEach((fold) => (fold.open = false)));
})();
