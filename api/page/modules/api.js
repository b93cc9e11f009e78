// The one place that speaks to the server.

/** What the server refused, as a problem document (RFC 9457). */
export class Problem extends Error {
  constructor(body) {
    super(body.detail || body.title);
    this.body = body;
    this.code = body.code;
    this.errors = body.errors ?? [];
  }
}

/** No answer came: no server, no network, or something that is no answer of this API. */
export class Unreachable extends Error {}

/**
 * @typedef {object} Options
 * @property {any} [body]
 * @property {AbortSignal} [signal]
 * @property {Record<string, string>} [headers]
 */

/** @type {(method: string, path: string, options?: Options) => Promise<{ value: any, answer: Response }>} */
async function call(method, path, { body, signal, headers = {} } = {}) {
  let answer;
  try {
    answer = await fetch(path, {
      method,
      signal,
      headers: {
        Accept: "application/json, application/problem+json",
        ...(body === undefined ? {} : { "Content-Type": "application/json" }),
        ...headers,
      },
      body: body === undefined ? undefined : JSON.stringify(body),
    });
  } catch (error) {
    if (error.name === "AbortError") throw error;
    throw new Unreachable(path);
  }
  if (answer.status === 204) return { value: null, answer };
  let value;
  try {
    value = await answer.json();
  } catch (error) {
    if (error.name === "AbortError") throw error;
    throw new Unreachable(path);
  }
  if (!answer.ok) throw new Problem(value);
  return { value, answer };
}

/** @type {(path: string, options?: Options) => Promise<any>} */
export const get = async (path, options) => (await call("GET", path, options)).value;
/** @type {(path: string, body: any, options?: Options) => Promise<any>} */
export const post = async (path, body, options) => (await call("POST", path, { ...options, body })).value;

/** Read a stored thing with the tag that changing it needs. */
export async function getTagged(path) {
  const { value, answer } = await call("GET", path);
  return { value, tag: answer.headers.get("ETag") };
}

export const put = async (path, body, headers) => (await call("PUT", path, { body, headers })).value;
export const erase = async (path, headers) => (await call("DELETE", path, { headers })).value;
