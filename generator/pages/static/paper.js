// Where a sheet's QR code led here: says whether that paper is current. s, r and h of the address
// (sheet, revision, hash) against what this page carries; a copy kept for offline use can't report.
(() => {
  const at = document.querySelector(".ks-paper");
  const paper = new URLSearchParams(location.search);
  const number = paper.get("s");
  if (!at || !number) return;
  const known = at.dataset.sheets.split(" ").map((one) => one.split(":"));
  const own = known.filter((one) => one[0] === number); // of two stations, on a process both follow
  const current = own.some(([, revision, hash]) => paper.get("r") === revision && paper.get("h") === hash);
  const sheet = number === "0" ? "The cover" : `Sheet ${number}`;
  const requested = number === "r"; // a size, or a batch, of its own: in no binder
  const report = () => {
    let word = "This paper is current.";
    let words = `${sheet}, revision ${paper.get("r")}, checked against the manual of ${at.dataset.asOf}.`;
    if (!navigator.onLine || document.querySelector(".ks-saved")) {
      word = "Can’t say: this page may be old.";
      words = "Ask before you work from this paper, or try again with signal.";
    } else if (requested && known.some((one) => one[1] === paper.get("r"))) {
      word = "Printed on request.";
      words = `Revision ${paper.get("r")} is current. This page can’t compare its figures: print it again for a new batch.`;
    } else if (requested) {
      word = "Replaced.";
      words = `Revision ${known[0][1]} is current. Print this sheet again. Take this paper out.`;
    } else if (!own.length) {
      word = "Taken out.";
      words = `${sheet} is no longer in the binder. Take the paper out.`;
    } else if (!current) {
      word = "Replaced.";
      words = `Print ${number === "0" ? "the cover" : `sheet ${number}`} again: revision ${own[0][1]} is current. Take this paper out.`;
    }
    at.querySelector("b").textContent = word;
    at.querySelector("span").textContent = words;
    at.hidden = false;
  };
  report();
  addEventListener("online", report);
  addEventListener("offline", report);
})();
