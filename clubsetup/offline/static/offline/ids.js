/* Ids made on the device. */

let last = 0;

/** A time-ordered id (RFC 9562 version 7), so that sending twice makes one row. Its time may run a
    little ahead, so that the ids of one page rise in the order they were made. */
export function newId() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  last = Math.max(last + 1, Date.now());
  let time = last;
  for (let n = 5; n >= 0; n -= 1) {
    bytes[n] = time % 256;
    time = Math.floor(time / 256);
  }
  bytes[6] = (bytes[6] & 0x0f) | 0x70;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}
