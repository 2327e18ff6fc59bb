// What a page needs at once, and the way to its other scripts: they are asked for when the style sheet is
// here, so that none of them keeps a phone on a weak signal from its first look. They still come before
// the page counts as loaded.
(() => {
  const { src, dataset } = document.currentScript, root = new URL("..", src), html = document.documentElement;
  self.ksPage = { root, dataset };
  html.className = "js";
  // Dark or bright: as the phone is set, until somebody chooses.
  try {
    if (localStorage.ksLook) html.dataset.look = localStorage.ksLook;
  } catch {}
  const add = (tag, more) => document.head.append(Object.assign(document.createElement(tag), more));
  const sheets = [...document.querySelectorAll("link[rel=stylesheet]")].filter((link) => !link.sheet && !link.media);
  const styled = sheets.map((link) => new Promise((done) => (link.onload = link.onerror = done)));
  const parsed = new Promise((done) => (document.readyState === "loading" ? addEventListener("DOMContentLoaded", done) : done()));
  Promise.all([parsed, ...styled]).then(() => {
    for (const path of dataset.then.split(" ")) add("script", { src: new URL(path, root), async: false });
    add("link", { rel: "stylesheet", media: "print", href: new URL(dataset.print, root) });
  });
})();
