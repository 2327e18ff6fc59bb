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
  // A page opened from a folder may load a script but fetch no data.
  if (at) Promise.all(at.dataset.at.split(" ").map((src) => new Promise((onload) => document.head.append(Object.assign(document.createElement("script"), { src, onload }))))).then(() => self.ksTold(self.ksWords, chosen, home));
})();
