// The index of a large manual, in parts: what a query needs is loaded when it is asked (sharding.py).
// What isn't here yet is thrown, as a function that fetches it; the search asks again behind that.
self.ksPart = {};
self.ksParts = (index, fields, plain) => {
  const { root } = self.ksPage, here = self.ksPart, loads = {};
  const load = ([name, stamp]) =>
    (loads[name] ||= new Promise((good, bad) => {
      const onerror = () => (delete loads[name], bad());
      document.head.append(Object.assign(document.createElement("script"), { src: new URL(`assets/find/${name}.${stamp}.js`, root), onload: good, onerror }));
    }));
  const need = (parts) => {
    const missing = parts.filter(([name]) => !here[name]);
    if (missing[0]) throw () => Promise.all(missing.map(load));
  };
  const split = MiniSearch.getDefault("tokenize");
  const words = (typed) => split(typed).map(plain).filter(Boolean);
  const spelled = () => {
    need([["spelled", index.spelled]]);
    return (spelled.all ||= here.spelled.split(" "));
  };
  // The parts with words from one to another; where all words are known, only those that have any.
  const partOf = (word) => Math.max(0, index.words.findLastIndex(([first]) => first <= word));
  const part = (number) => [`w${number}`, index.words[number][1]];
  const begin = (word) => {
    if (here.spelled) return [...new Set(spelled().filter((one) => one.startsWith(word)).map(partOf))].map(part);
    const last = partOf(`${word}\uffff`), found = [];
    for (let number = partOf(word); number <= last; number += 1) found.push(part(number));
    return found;
  };
  let near;
  const close = (word, fuzzy) => {
    if (!near) {
      near = new MiniSearch({ fields: ["word"], tokenize: (text) => [text], processTerm: (text) => text });
      near.addAll(spelled().map((word, id) => ({ id, word })));
    }
    return near.search(word, { fuzzy }).map(({ id }) => part(partOf(spelled()[id])));
  };
  const typed = (query) => (typeof query === "string" ? words(query) : query.queries.flatMap(typed));

  // What of the parts here the engine has: each word's entries, and how long their fields are.
  let engine, known = 0;
  const made = () => {
    const parts = Object.keys(here).filter((name) => /^w\d/.test(name));
    if (engine && known === parts.length) return engine;
    known = parts.length;
    const entries = [], ids = {}, lengths = {};
    for (const name of parts) for (const [word, ...flat] of here[name][0]) {
      const of = {};
      for (let i = 0; i < flat.length; i += 2) {
        const field = flat[i], list = flat[i + 1], times = (of[field] = {});
        for (let n = 0, at = 0; n < list.length; n += 2) {
          const id = (at += list[n]), size = list[n + 1];
          ids[id] = id;
          (lengths[id] ||= [])[field] = Math.abs(size);
          times[id] = size < 0 ? list[++n + 1] : 1;
        }
      }
      entries.push([word, of]);
    }
    const fieldIds = Object.fromEntries(fields.map((name, i) => [name, i]));
    return (engine = MiniSearch.loadJS(
      { documentCount: index.count, nextId: index.count, documentIds: ids, fieldIds, fieldLength: lengths, averageFieldLength: index.average, storedFields: {}, dirtCount: 0, index: entries, serializationVersion: 2 },
      { fields, processTerm: plain }
    ));
  };
  const ranks = index.ranks.flatMap(([count, ...rank]) => Array(count).fill(rank));
  return {
    search: (query, options) => {
      need(typed(query).flatMap((word) => (options.fuzzy ? close(word, options.fuzzy) : begin(word))));
      return made().search(query, options);
    },
    spelled,
    named: (name) => {
      const [first] = words(name);
      if (!first) return [];
      const one = part(partOf(first));
      need([one]);
      return here[one[0]][1][name] || [];
    },
    rank: (id) => ranks[id],
    rows: (ids) => {
      const { size } = index, at = (id) => Math.floor(id / size);
      need(ids.map((id) => [`r${at(id)}`, index.rows[at(id)]]));
      return ids.map((id) => here[`r${at(id)}`][0][id % size]);
    },
    opened: (paths) => {
      const at = (path) => [...path].reduce((sum, sign) => sum + sign.codePointAt(), 0) % index.rows.length;
      need(paths.map((path) => [`r${at(path)}`, index.rows[at(path)]]));
      return paths.flatMap((path) => {
        const found = here[`r${at(path)}`][1][path];
        return found ? [[...found, path]] : [];
      });
    },
    stations: () => index.stations,
  };
};
