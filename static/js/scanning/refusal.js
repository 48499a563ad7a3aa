// Why a code was refused, in the words of planning/codes; a test compares them.

export const BY_HAND = "choose the product and type lot and expiry as they are printed on the box";

// The message says why and what to do.
export class CodeError extends Error {}

// What only the clinic's server can read.
export class NeedsServer extends CodeError {
  constructor(what) {
    super(`The tablet alone cannot read ${what}: wait for the clinic's network, or ${BY_HAND}.`);
  }
}
