// Marks in the bottom bar which section is on the screen. Everything works without it.
(() => {
  const links = [...document.querySelectorAll(".ks-bar a[href^='#']")];
  const heads = links.map((a) => document.getElementById(a.hash.slice(1))).filter(Boolean);
  if (!heads.length || !("IntersectionObserver" in window)) return;
  const mark = () => {
    let here = null;
    for (const head of heads) if (head.getBoundingClientRect().top < innerHeight / 2) here = head;
    for (const a of links) {
      const on = here !== null && a.hash === "#" + here.id && !a.classList.contains("ks-bar-size");
      a.classList.toggle("ks-here", on);
      if (on) a.setAttribute("aria-current", "true"); else a.removeAttribute("aria-current");
    }
  };
  addEventListener("scroll", mark, { passive: true });
  mark();
})();
