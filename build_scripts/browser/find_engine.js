// What is found for what a reader types. Stands behind MiniSearch in one file, which makes the index when the handbook
// is built, and searches it in the page.
"use strict";

self.handbookFind = (() => {
  const MOST = 20;
  const OF_ONE_PAGE = 2;
  const FIELDS = { fields: ["heading", "page", "text"], storeFields: ["url", "page", "heading", "excerpt", "kind", "behind"] };
  const WEIGHTS = { heading: 3, page: 1.5, text: 1 };
  const BEHIND = 0.5;
  const KINDS = { calculator: 1.9, fault: 1.4 };
  const OTHER_WORDS = 0.7;
  // Of the best one's score.
  const LEAST = 0.15;

  // Scripts that part no words are found by their signs.
  const WORD = /[\p{Script=Han}\p{Script=Hiragana}\p{Script=Katakana}\p{Script=Thai}]|[\p{L}\p{N}]+/gu;

  // Without accents and plurals; “mm²” is “mm2”.
  function split_words(text) {
    const plain = text.normalize("NFKD").replace(/\p{M}+/gu, "").replace(/['’]/g, "").toLowerCase();
    return (plain.match(WORD) ?? []).map((word) => (/^\p{L}{3,}[^su\W]s$/u.test(word) ? word.slice(0, -1) : word));
  }

  const OPTIONS = { ...FIELDS, tokenize: split_words, processTerm: (word) => word };

  const weigh = (weight) => (_, __, { behind, kind }) => weight * (behind ? BEHIND : (KINDS[kind] ?? 1));

  function make({ sections, ...kept }) {
    const index = new MiniSearch(OPTIONS);
    // The beginning of a page is found by its title.
    index.addAll(sections.map((section, id) => ({ id, ...section, heading: section.heading || section.page })));
    return JSON.stringify({ ...kept, index });
  }

  function open({ index: kept, same, skip, problems }) {
    const index = MiniSearch.loadJS(kept, OPTIONS);
    const skipped = new Set(skip.flatMap(split_words));
    // Each phrase by its words, the longest first, with all that means the same; “cutlist” is a “cut list”, too.
    const phrases = same
      .flatMap((group) => {
        const read = group.map(split_words);
        return read.flatMap((words) => {
          const others = read.filter((other) => other !== words);
          return words.length > 1 ? [{ words, others }, { words: [words.join("")], others: read }] : [{ words, others }];
        });
      })
      .sort((one, other) => other.words.length - one.words.length);
    const vocabulary = new Set(phrases.flatMap(({ words }) => words));

    // Asked again with every letter that is typed behind the word.
    const known = new Map();
    function is_found(word, prefix) {
      const key = `${word} ${prefix}`;
      if (!known.has(key)) known.set(key, index.search(word, { prefix }).length > 0);
      return known.get(key);
    }

    // What was meant by a word that nothing begins with. A slip of the finger changes places of two letters; any other is
    // a letter more, less or wrong.
    function correct(word) {
      if (vocabulary.has(word) || is_found(word, true)) return word;
      for (let at = 1; at < word.length; at++) {
        const swapped = word.slice(0, at - 1) + word[at] + word[at - 1] + word.slice(at + 1);
        if (vocabulary.has(swapped) || is_found(swapped, false)) return swapped;
      }
      const [likely] = index.autoSuggest(word, { prefix: false, fuzzy: word.length < 6 ? 1 : 2 });
      return likely?.suggestion ?? word;
    }

    const ask = (word) => ({ queries: [word], prefix: word.length > 2 || !is_found(word, false) });

    // The words in their order, taken together where several of them mean what others call otherwise.
    function read(text) {
      const words = split_words(text).map(correct);
      const units = [];
      for (let at = 0; at < words.length; ) {
        const meant = phrases.filter((phrase) => phrase.words.every((word, more) => words[at + more] === word));
        const taken = meant[0]?.words ?? [words[at]];
        const said = { combineWith: "AND", queries: taken.map(ask) };
        const others = meant
          .filter(({ words: same }) => same.length === taken.length)
          .flatMap(({ others }) => others)
          .map((other) => ({ combineWith: "AND", queries: other, boostDocument: weigh(OTHER_WORDS) }));
        // Words that say nothing count where there are no others.
        if (meant.length || !skipped.has(words[at]) || words.every((word) => skipped.has(word))) {
          units.push({ combineWith: "OR", queries: [said, ...others] });
        }
        at += taken.length;
      }
      return units;
    }

    const list_words = (query) => (query.queries ? query.queries.flatMap(list_words) : [query]);

    function find(text) {
      const units = read(text);
      const said = units.map((unit) => new Set(list_words(unit)));
      // The library multiplies by how many words were met, those that mean the same among them; what counts is how much
      // of what the reader said is met.
      const measure = ({ score, queryTerms: met }) =>
        (score / met.length) * said.filter((words) => met.some((word) => words.has(word))).length;
      const found = index
        .search({ combineWith: "OR", queries: units }, { boost: WEIGHTS, boostDocument: weigh(1), weights: { fuzzy: 0.3, prefix: 0.4 } })
        .map((place) => Object.assign(place, { score: measure(place) }))
        .sort((one, other) => other.score - one.score);
      const pages = new Map();
      return found
        .filter(({ url, score }) => {
          const page = url.replace(/#.*/, "");
          pages.set(page, (pages.get(page) ?? 0) + 1);
          return pages.get(page) <= OF_ONE_PAGE && score >= LEAST * found[0].score;
        })
        .slice(0, MOST);
    }

    return { find, problems };
  }

  return { make, open };
})();
