// Data blocks of the page: an id in, bytes or plain data out.

export function bytes(id) {
  const block = document.getElementById(id);
  if (!block) return null;
  const text = atob(block.textContent.trim());
  const out = new Uint8Array(text.length);
  for (let k = 0; k < text.length; k += 1) out[k] = text.charCodeAt(k);
  return out.buffer;
}

export function json(id) {
  return JSON.parse(document.getElementById(id).textContent);
}

export const still = () => window.matchMedia("(prefers-reduced-motion: reduce)").matches;
