/**
 * The few numbers that this page writes itself: a running clock, counts, and means over the laps of the log, which no
 * answer has. All else that people read of numbers comes with the service's answers.
 */

/** A share in percent with one decimal; what would round to nothing says so. */
export function percent(share) {
  return share > 0 && share < 0.0005 ? "under 0.1 %" : `${rounded(100 * share, 1)} %`;
}

/** A small amount of rack strength, read as a thousand times the number; what would round to nothing says so. */
export function fine(number) {
  const shown = 1000 * number;
  return shown > 0 && shown < 0.005 ? "under 0.01" : rounded(shown, 2);
}

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

/** A mean of numbers of tiles. */
export const tenths = (number) => rounded(number, 1);

/** A figure, or a dash where there is none. */
export const orDash = (value, written) => (value === null ? "-" : written(value));

/** A text with its first letter large. */
export const capital = (text) => text.charAt(0).toUpperCase() + text.slice(1);

/** A number with so many decimals; ties go to the even digit, as the service rounds them. */
function rounded(number, decimals) {
  const exact = number.toFixed(100);
  const cut = exact.slice(0, exact.length - 100 + decimals);
  const tie = /^50*$/.test(exact.slice(cut.length));
  return tie && "02468".includes(cut.at(-1)) ? cut : number.toFixed(decimals);
}
