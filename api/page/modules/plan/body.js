// A form's values become the body of a call: each goes to its path, what is empty goes nowhere.

/** Put a value at a path like "batches.1.recipe"; numbers in a path stand for places of a list. */
export function put(body, path, value) {
  const steps = path.split(".");
  const last = steps.pop();
  let at = body;
  steps.forEach((step, index) => {
    at[step] ??= /^\d+$/.test(steps[index + 1] ?? last) ? [] : {};
    at = at[step];
  });
  at[last] = value;
}

/** The body of a task from its values by path; a batch without a recipe is left out. */
export function bodyOf(fields, values) {
  const body = {};
  for (const { at } of fields) {
    const value = values[at];
    const owner = at.replace(/\.[^.]+$/, ".recipe");
    const alone = /^batches\.\d+\./.test(at) && !values[owner];
    if (!alone && value !== null && value !== undefined && value !== "") put(body, at, value);
  }
  if (body.batches) body.batches = body.batches.filter(Boolean);
  return body;
}
