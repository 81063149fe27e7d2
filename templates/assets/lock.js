/* Unlocks a locked report: the same steps as profilegen/publish/lock.py, with WebCrypto.

   Only content is locked; every script is part of the outer page. The passphrase and what
   follows from it live in this page's memory until it is left, and nowhere else. */
(() => {
  "use strict";
  const box = document.getElementById("locked");
  if (!box) return;
  const form = box.querySelector("form");
  const typed = form.querySelector("#passphrase");
  const button = form.querySelector("button");
  const says = box.querySelector(".lock-says");
  const say = (what) => (says.textContent = what ? says.dataset[what] : "");
  const utf8 = new TextEncoder();

  if (!window.isSecureContext || !window.crypto?.subtle) return say("insecure");
  if (!window.DecompressionStream) return say("tooOld");
  form.hidden = false;

  const bytes = (base64) => Uint8Array.from(atob(base64), (character) => character.charCodeAt(0));
  const asTyped = (text) => text.toLowerCase().replaceAll("-", " ").trim().split(/\s+/).join(" ");

  async function keyFrom(passphrase) {
    const { subtle } = window.crypto;
    const word = await subtle.importKey("raw", utf8.encode(passphrase), "PBKDF2", false, ["deriveBits"]);
    const rounds = { name: "PBKDF2", hash: "SHA-256", salt: bytes(box.dataset.salt), iterations: Number(box.dataset.rounds) };
    const secret = await subtle.importKey("raw", await subtle.deriveBits(rounds, word, 256), "HKDF", false, ["deriveKey"]);
    const purpose = { name: "HKDF", hash: "SHA-256", salt: new Uint8Array(), info: utf8.encode("profilegen key 1") };
    return subtle.deriveKey(purpose, secret, { name: "AES-GCM", length: 256 }, false, ["decrypt"]);
  }

  async function unlocked(passphrase) {
    const key = await keyFrom(passphrase);
    const how = { name: "AES-GCM", iv: bytes(box.dataset.nonce), additionalData: utf8.encode("profilegen locked report 1") };
    const sealed = bytes(document.getElementById("sealed").textContent.trim());
    return window.crypto.subtle.decrypt(how, key, sealed).catch(() => null);
  }

  async function inflated(packed) {
    const stream = new Blob([packed]).stream().pipeThrough(new DecompressionStream("gzip"));
    return new Response(stream).text();
  }

  function putIn(html) {
    const main = box.parentElement;
    // Charts wake up by events that reach the document, so they need no word of this. Script
    // elements that come this way hold data; one that held a program would not run.
    main.innerHTML = html;
    document.body.className = "report";
    const here = location.hash && document.getElementById(decodeURIComponent(location.hash.slice(1)));
    main.focus({ preventScroll: true });
    if (here) here.scrollIntoView();
    else scrollTo(0, 0);
  }

  document.getElementById("show-typed").addEventListener("change", (event) => {
    typed.type = event.target.checked ? "text" : "password";
  });

  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    button.disabled = true;
    say("working");
    const packed = await unlocked(asTyped(typed.value));
    button.disabled = false;
    if (packed) {
      putIn(await inflated(packed));
    } else {
      say("wrong");
      typed.select();
    }
  });
})();
