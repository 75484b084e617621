/**
 * What to tell the user when a change did not go through, by the answer's status. Calculation only.
 *
 * @typedef {{ title: string, detail: string, again: boolean }} Message  again: trying again makes sense
 */
import { say } from "./say.js";

/**
 * @param {number} status  0 where no answer came
 * @param {string | null} retryAfter  the header of that name
 * @returns {Message}
 */
export function explain(status, retryAfter) {
  switch (status) {
    case 0:
      return { title: say("The server did not answer."), detail: say("Your change is kept here and sent as soon as the server answers. Check the connection; leave this page open."), again: true };
    case 403:
      return { title: say("This link cannot change the project."), detail: say("Open the link to change, or copy the project as your own."), again: false };
    case 404:
      return { title: say("There is no project at this address any more."), detail: say("Check the link that you were given."), again: false };
    case 413:
      return { title: say("The change is too large to be taken."), detail: say("Make it in smaller steps."), again: false };
    case 422:
      return { title: say("The change cannot be made as it stands."), detail: say("Check its figures."), again: false };
    case 429:
      return { title: say("Too many changes in a short time."), detail: later(retryAfter), again: true };
    case 503:
      return { title: say("The server is busy."), detail: later(retryAfter), again: true };
  }
  return { title: say("The server answered {1}.", status), detail: say("The change may not be saved. Load the page again to see how the project stands."), again: true };
}

/**
 * @param {string | null} retryAfter
 * @returns {string}
 */
function later(retryAfter) {
  const n = Number(retryAfter);
  if (retryAfter === null || !Number.isFinite(n) || n <= 0) return say("The change is not saved. Make it again in a moment.");
  return n === 1 ? say("The change is not saved. Make it again in 1 second.") : say("The change is not saved. Make it again in {1} seconds.", Math.ceil(n));
}

/**
 * How long to wait before the server is asked again, longer from try to try.
 * @param {number} tries  so far
 */
export function pauseMs(tries) {
  return Math.min(8000, 500 * 2 ** tries);
}

/**
 * The index of the next finding, round the end.
 * @param {number} from  -1 where none is chosen
 * @param {number} step  1 for the next, -1 for the one before
 * @param {number} count
 * @returns {number} -1 where there is none
 */
export function neighbour(from, step, count) {
  if (count === 0) return -1;
  if (from < 0) return step > 0 ? 0 : count - 1;
  return (from + step + count) % count;
}

/**
 * The names of the form's fields that a JSON pointer may speak of, the nearest first: "drive.stages.1", "drive.stages",
 * "drive" for "/drive/stages/1".
 * @param {string} pointer
 * @returns {string[]}
 */
export function fieldsOf(pointer) {
  const keys = pointer.split("/").slice(1);
  return keys.map((_, i) => keys.slice(0, keys.length - i).join("."));
}
