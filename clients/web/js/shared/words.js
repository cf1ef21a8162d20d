/** Numbers, times and rounds in words, written as the command writes them. */

/** A number with so many decimals; ties go to the even digit, as the command rounds them. */
export function rounded(number, decimals) {
  const exact = number.toFixed(100);
  const cut = exact.slice(0, exact.length - 100 + decimals);
  const tie = /^50*$/.test(exact.slice(cut.length));
  return tie && "02468".includes(cut.at(-1)) ? cut : number.toFixed(decimals);
}

/** A share in percent with one decimal; what would round to nothing says so. */
export function percent(share) {
  return share > 0 && share < 0.0005 ? "under 0.1 %" : `${rounded(100 * share, 1)} %`;
}

/** A number of expected hands. */
export const hands = (number) => rounded(number, 3);

/** A small number of hands; what would round to nothing says so. */
export function fine(number) {
  return number > 0 && number < 0.00005 ? "under 0.0001" : rounded(number, 4);
}

/** A very small number without an exponent. */
export const plain = (number) => rounded(number, 12).replace(/\.?0+$/, "") || "0";

/** A number with its noun. */
export function counted(number, one, many = `${one}s`) {
  return `${number.toLocaleString("en")} ${number === 1 ? one : many}`;
}

/** Seconds as minutes and seconds to a tenth, half up. */
export function clock(seconds) {
  // toFixed rounds the number as it is, and half up; times ten it would be another number.
  const [whole, tenth] = seconds.toFixed(1).split(".");
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, "0")}.${tenth}`;
}

/** A round's name for people. */
export const roundWords = (round) => round.replace("_", " ");

/** A name with its first letter large. */
export const capital = (text) => text.charAt(0).toUpperCase() + text.slice(1);

export const CALLS = {
  "only pass": "No choice: no other pass is allowed",
  even: "A toss-up: the runner-up is worth the same",
  close: "A close call",
  fair: "A fair lead",
  clear: "A clear best",
};
