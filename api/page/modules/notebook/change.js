// A dough of the notebook is changed as it is kept now.

import { getTagged, put } from "../api.js";

/**
 * Change a dough; another who changed it meanwhile is not overwritten.
 * @type {(id: string, changed: (dough: any) => object) => Promise<any>}
 */
export async function changeDough(id, changed) {
  const { value, tag } = await getTagged(`/v1/doughs/${id}`);
  return put(`/v1/doughs/${id}`, { ...value, ...changed(value) }, { "If-Match": tag });
}
