/** What can go wrong when this device keeps something, and how it is told. */

/**
 * `full`: the browser gives no more room. `blocked`: another tab holds an older or newer form of
 * the storage. `lost`: the storage did not answer, or answered that it failed.
 */
export type StorageTrouble = "full" | "blocked" | "lost";

const WORDS: Record<StorageTrouble, string> = {
  full: "There is no room left on this device. Nothing of this was saved; free some and try again.",
  blocked: "Another tab of this app is in the way. Close the other tabs, then reload this one.",
  lost: "This device could not save it. Reload the page and try again.",
};

/** The write was not saved, and nothing of it is half saved. */
export class StorageFailure extends Error {
  override readonly name = "StorageFailure";
  constructor(
    readonly trouble: StorageTrouble,
    cause?: unknown,
  ) {
    super(WORDS[trouble], { cause });
  }
}

/**
 * The failure that an error of IndexedDB means; other errors (our own mistakes) come back as they
 * are.
 */
export function failureOf(error: unknown): unknown {
  if (error instanceof StorageFailure) return error;
  switch (errorName(error)) {
    case "QuotaExceededError":
      return new StorageFailure("full", error);
    case "VersionError":
      return new StorageFailure("blocked", error);
    case "AbortError":
    case "InvalidStateError":
    case "UnknownError":
    case "TransactionInactiveError":
    case "TimeoutError":
    case "NotFoundError":
    case "NotReadableError":
    case "SecurityError":
    case "OperationError":
    case "DataCloneError":
      return new StorageFailure("lost", error);
    default:
      return error;
  }
}

/** The connection was closed under us: opening it again may help. */
export function isDead(error: unknown): boolean {
  return ["InvalidStateError", "AbortError", "UnknownError"].includes(errorName(error));
}

function errorName(error: unknown): string {
  // By name, not by class: quota errors have changed their class between browsers.
  return typeof error === "object" && error !== null && "name" in error ? String(error.name) : "";
}
