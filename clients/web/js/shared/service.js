/** Requests to the service that this page came from, and the ways they fail. */

import { capital } from "./words.js";

const LONGEST_MS = 120_000;
const TRIES = 3;
const LONGEST_PAUSE_S = 5;

/**
 * Why there is no answer.
 * `kind` is `gone` (nobody answers), `busy`, `refused` (with faults), `failed` (a fault of the server),
 * `foreign` (an answer that is not the service's) or `stopped` (by this page).
 */
export class ServiceError extends Error {
  constructor(kind, says, faults = []) {
    super(says);
    this.kind = kind;
    /** @type {{pointer: string, detail: string, type: string}[]} */
    this.faults = faults;
  }
}

/** An answer that has not the shape of the service's. */
export const foreign = () => new ServiceError("foreign", "The answer is not one of threepass.");

/** Get a value. */
export const get = (path, options) => asked(path, { method: "GET" }, options);

/**
 * Send a value and return the answer.
 * @param {string} path Relative to the page, such as `v1/advice`.
 * @param {Object} body
 * @param {{signal?: AbortSignal, waiting?: (says: string) => void}} options `waiting` hears of each new try.
 */
export const post = (path, body, options) => asked(path, posted(body), options);

/** Send a value and return the file that is made of it, as a blob. */
export const postForFile = (path, body, options) =>
  asked(path, posted(body), options, (response) => response.blob());

const posted = (body) => ({
  method: "POST",
  headers: { "content-type": "application/json" },
  body: JSON.stringify(body),
});

async function asked(path, request, { signal, waiting } = {}, read = parsed) {
  for (let tried = 1; ; tried += 1) {
    const response = await reply(path, request, signal);
    if (response.ok) return read(response);
    const error = await refusal(response);
    if (error.kind !== "busy" || tried === TRIES) throw error;
    const pause = Math.min(Number(response.headers.get("retry-after")) || 1, LONGEST_PAUSE_S);
    waiting?.(`The server is busy; trying again in ${pause} s (try ${tried + 1} of ${TRIES}).`);
    await new Promise((done) => setTimeout(done, 1000 * pause));
  }
}

async function reply(path, request, signal) {
  const limits = [AbortSignal.timeout(LONGEST_MS), ...(signal ? [signal] : [])];
  try {
    return await fetch(path, { ...request, signal: AbortSignal.any(limits), cache: "no-store" });
  } catch (error) {
    if (signal?.aborted) throw new ServiceError("stopped", "Stopped.");
    const slow = error.name === "TimeoutError";
    throw new ServiceError(
      "gone",
      slow ? "The server has not answered for two minutes." : "The server does not answer.",
    );
  }
}

async function parsed(response) {
  try {
    return await response.json();
  } catch {
    throw new ServiceError("foreign", "The answer did not come whole, or is not one of threepass.");
  }
}

async function refusal(response) {
  const problem = await response.json().catch(() => null);
  if (typeof problem?.detail !== "string" || !Array.isArray(problem.errors)) {
    return new ServiceError("foreign", `The answer (status ${response.status}) is not one of threepass.`);
  }
  const counted = problem.type === "urn:threepass:problem:invalid";
  const says = counted ? `${capital(problem.detail)}.` : `${problem.title}: ${problem.detail}.`;
  if (response.status === 503) {
    const busy = problem.type === "urn:threepass:problem:busy";
    return new ServiceError(busy ? "busy" : "failed", busy ? "The server is busy." : says);
  }
  return new ServiceError(response.status >= 500 ? "failed" : "refused", says, problem.errors);
}
