/** A use of the types that openapi-typescript generates from the description, for a type checker. */

import createClient from "openapi-fetch";
import type { components, paths } from "./schema";

type Tile = components["schemas"]["Tile"];

/** Return the tiles to pass from a rack. */
export async function passFor(rack: string): Promise<Tile[]> {
  const client = createClient<paths>({ baseUrl: "http://127.0.0.1:8347" });
  const { data, error } = await client.POST("/v1/advice", { body: { rack, round: "first_right", card: "small" } });
  if (error) throw new Error(error.errors.map((fault) => `${fault.pointer} ${fault.type}`).join());
  return data.pass;
}
