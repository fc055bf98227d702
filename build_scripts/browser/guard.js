// The first script of every page: what text becomes a script's address, or markup, is decided here, where the browser
// knows Trusted Types. The theme's script, which knows nothing of them, works on. Elsewhere the page's policy stands
// alone. The names of the handbook's own scripts come with the page; nobody can write this policy a second time.
(() => {
  const { site, scripts } = document.currentScript.dataset;
  const base = new URL(site, document.baseURI);
  const own = new Set(scripts.split(" ").map((name) => new URL(name, base).href));
  // What the theme makes of texts: the lines of its search.
  const ELEMENTS = new Set("b br code del div em h1 h2 i kbd li mark ol p pre span strong sub sup ul wbr".split(" "));

  self.trustedTypes?.createPolicy("default", {
    // What is only read runs nothing; the theme reads whole pages, whose scripts need a hash like any other.
    createHTML: (text, _, sink) => (sink.endsWith(" parseFromString") || !text.includes("<") ? text : clean(text)),
    // The text of an element: the policy asks for its hash. Text that a function runs is no part of the handbook.
    createScript: (text, _, sink) => (sink.startsWith("HTMLScriptElement ") ? text : null),
    // Workers made of a text are the policy's business. To refuse aloud would stop the theme, which touches the scripts
    // of every page it fetches, also of a newer release; none of them runs.
    createScriptURL(address) {
      const { protocol, href } = new URL(address, document.baseURI);
      return protocol === "blob:" || own.has(href.replace(/[?#].*/, "")) ? address : "about:invalid";
    },
  });

  function clean(text) {
    const { body } = new DOMParser().parseFromString(text, "text/html");
    for (const element of body.querySelectorAll("*")) {
      if (!ELEMENTS.has(element.localName)) element.remove();
      for (const name of element.getAttributeNames()) if (name !== "class") element.removeAttribute(name);
    }
    return body.innerHTML;
  }
})();
