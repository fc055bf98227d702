// In the portable edition only: makes workers of texts that scripts carry. Opened without a server, a page may neither
// fetch nor make a worker from an address, but it may load scripts, and make a worker of a text it holds.
//
// Each script of texts says handbookCarried.add({name: text}); pages still ask for `new Worker(address)`, and the last
// part of the address is the name. The release comes in a script of its own, which sets handbookCarried.release to its
// files by name, in base64.
"use strict";

self.handbookCarried = (() => {
  const texts = new Map();

  const find_text = (address) => texts.get(new URL(address, document.baseURI).pathname.split("/").at(-1));

  const write_address = (text) => URL.createObjectURL(new Blob([text], { type: "text/javascript" }));

  self.Worker = class extends Worker {
    constructor(address, options) {
      const text = find_text(address);
      super(text === undefined ? address : write_address(text), options);
    }
  };

  return {
    release: undefined,
    add(named) {
      for (const [name, text] of Object.entries(named)) texts.set(name, text);
    },
  };
})();
