// Where a sheet's QR code led here: says what that paper is to this manual. s, r and h of the address
// (sheet, revision, hash) against what this page carries; a copy kept for offline use can't report.
(() => {
  const at = document.querySelector(".ks-paper");
  const paper = new URLSearchParams(location.search);
  const [number, revision, hash] = ["s", "r", "h"].map((name) => paper.get(name));
  if (!at || !number) return;
  const known = (at.dataset.sheets || "").split(" ").filter(Boolean).map((one) => one.split(":"));
  const gone = (at.dataset.gone || "").split(" ");
  const own = known.filter((one) => one[0] === number); // of two stations, on a process both follow
  const sheet = number === "0" ? "The cover" : `Sheet ${number}`;
  const again = number === "0" ? "the cover" : `sheet ${number}`;
  const requested = number === "r"; // a size, or a batch, of its own: in no binder
  const whole = (text) => (/^[0-9]{1,9}$/.test(text || "") ? +text : NaN);
  const ask = "Ask before you work from this paper.";
  const NOT = { draft: "Draft: nobody approved this.", "not-yet": "Not in force yet.", superseded: "Out of use." };
  const verdict = () => {
    const day = at.dataset.asOf;
    if (!navigator.onLine || document.querySelector(".ks-saved"))
      return ["Can't say: this page may be old.", "Ask before you work from this paper, or try again with signal."];
    if (!known[0]) return ["Not in this manual.", `The standard was taken out, or the paper is newer than this site. ${ask}`];
    const rest = requested ? known : own;
    const newest = Math.max(...known.map((one) => whole(one[0]) || 0), ...gone.map((one) => whole(one) || 0));
    if (!rest[0] && !gone.includes(number) && whole(number) > newest)
      return ["Newer paper than this site.", `${sheet} isn't in the manual of ${day}. ${ask}`];
    if (!rest[0]) return ["Taken out.", `${sheet} is no longer in the binder. Take the paper out.`];
    const same = rest.filter((one) => one[1] === revision), exact = same.find((one) => one[2] === hash);
    const now = (exact || same[0] || rest[0]);
    if (!same[0] && whole(revision) > whole(now[1]))
      return ["Newer paper than this site.", `The paper is revision ${revision}; the manual of ${day} has revision ${now[1]}. ${ask}`];
    if (!same[0])
      return [whole(revision) < whole(now[1]) ? "Older paper." : "Replaced.",
        requested ? `Revision ${now[1]} is current. Print this sheet again. Take this paper out.`
          : `Print ${again} again: revision ${now[1]} is current. Take this paper out.`];
    if (requested && now[3] === "approved")
      return ["Printed on request.", `Revision ${revision} is current. This page can't compare its figures: print it again for a new batch.`];
    if (!exact && !requested)
      return ["Same revision, other figures.", now[3] === "approved" ? `Print ${again} again. Take this paper out.`
        : `The manual's own figures aren't approved. ${ask}`];
    if (now[3] !== "approved") return [NOT[now[3]], "Do not work from this paper."];
    return ["This paper is current.", `${sheet}, revision ${revision}, checked against the manual of ${day}.`];
  };
  const report = () => {
    const [word, words] = verdict();
    at.querySelector("b").textContent = word;
    at.querySelector("span").textContent = words;
    at.hidden = false;
  };
  report();
  addEventListener("online", report);
  addEventListener("offline", report);
})();
