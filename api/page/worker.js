// Keeps the page for when its server is gone: its parts by their hashed names, its document as it came last.
// A browser runs this only over https or on the machine that serves the page.

const KEPT = "dough-advisor VERSION";

const PARTS = ["/"];

addEventListener("install", (event) => event.waitUntil(caches.open(KEPT).then((kept) => kept.addAll(PARTS))));

addEventListener("activate", async () => {
  for (const name of await caches.keys()) if (name !== KEPT) await caches.delete(name);
});

async function fromServer(request) {
  const answer = await fetch(request);
  if (answer.ok) (await caches.open(KEPT)).put(request, answer.clone());
  return answer;
}

addEventListener("fetch", (event) => {
  const { pathname } = new URL(event.request.url);
  if (event.request.method !== "GET") return;
  if (pathname === "/") event.respondWith(fromServer(event.request).catch(() => caches.match("/")));
  else if (pathname.startsWith("/static/"))
    event.respondWith(caches.match(event.request).then((kept) => kept ?? fromServer(event.request)));
});
