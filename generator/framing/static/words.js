// The switch of languages, and the way to the words of the one chosen: they come when they are asked for.
(() => {
  const pick = document.getElementById("ks-words"), home = document.documentElement.lang;
  if (!pick) return;
  let chosen;
  try {
    chosen = localStorage.ksWords;
  } catch {}
  const at = [...pick.options].find((option) => option.lang === chosen && option.dataset.at);
  pick.value = at ? chosen : home;
  pick.parentElement.hidden = false;
  pick.onchange = () => {
    try {
      localStorage.ksWords = pick.value;
    } catch {}
    location.reload(); // every text is written anew
  };
  // A page opened from a folder may load a script but fetch no data. An address without a stamp is asked for
  // anew, as the worker of a saved copy does by itself: a browser would show what it kept.
  const asked = location.protocol === "file:" || navigator.serviceWorker?.controller;
  const anew = (src) => asked || src.includes("?") || fetch(src, { cache: "no-cache" }).catch(() => 0);
  const load = (src) => new Promise((onload) => document.head.append(Object.assign(document.createElement("script"), { src, onload })));
  if (at) Promise.all(at.dataset.at.split(" ").map(async (src) => (await anew(src), load(src)))).then(() => self.ksTold(self.ksWords, chosen, home));
})();
