// In the portable edition only, at the end of every page's head: runs the scripts that stand there, held, in their
// order, and lets no other element of the page run a file. From a folder no browser compares a script with its hash,
// and one of them does not even ask the page's policy.
(() => {
  for (const held of document.head.querySelectorAll("script[data-src]")) {
    const script = document.createElement("script");
    const { src, ...told } = held.dataset;
    Object.assign(script.dataset, told);
    script.async = false;
    script.src = src;
    held.replaceWith(script);
  }
  // A parser hands over what it has read before it runs it. What a script makes is asynchronous without saying so, and
  // is the policy's business.
  const is_parsed = (script) => script.async === script.hasAttribute("async");
  const parsing = new MutationObserver((changes) => {
    for (const node of changes.flatMap(({ addedNodes }) => [...addedNodes])) {
      for (const script of [node, ...(node.querySelectorAll?.("script") ?? [])]) {
        if (script.localName === "script" && (script.href || (script.src && is_parsed(script)))) script.remove();
      }
    }
  });
  parsing.observe(document, { childList: true, subtree: true });
  document.addEventListener("DOMContentLoaded", () => parsing.disconnect());
})();
