/**
 * What the screens may ask of the workshop's records, and what they are told.
 *
 * Screens know this file, not how it is done: no IndexedDB, no fetch, no packing above this line.
 */
import type { ReadonlySignal } from "@preact/signals";
import type {
  Corrections,
  Finding,
  FindingsPage,
  FindingsQuery,
  Intake,
  IntakeKind,
  LayoutChange,
  ManualPage,
  Taken,
  Taking,
  UnfitPage,
} from "../core/intakes";
import type { Clash } from "../core/merge";
import type { RecordFields, RecordType } from "../core/records";
import type { Updates } from "../update";

export type { Clash };

/** A record as a screen sees it: shown values, and what a person has to be asked. */
export interface View<T extends RecordType = RecordType> {
  readonly type: T;
  readonly id: string;
  readonly values: Readonly<Partial<RecordFields[T]>>;
  readonly clashes: readonly Clash[];
  /** Deleted on one device and changed on another: kept until a person says which. */
  readonly deleteAsked: boolean;
  /** Something of it is not yet on the server. */
  readonly unsent: boolean;
}

/** A write a screen asks for. Fields that are left out stay as they are. */
export interface Draft<T extends RecordType = RecordType> {
  type: T;
  id: string;
  set: Partial<RecordFields[T]>;
}

export interface Store {
  /** Reads the contents of a kit or build into memory; again is free. */
  load(scope: string): Promise<void>;
  /** Records that stand (not gone, complete) of loaded scopes; reading inside a computed subscribes. */
  get<T extends RecordType>(type: T, id: string): View<T> | undefined;
  all<T extends RecordType>(type: T): readonly View<T>[];
  /** Records whose `field` holds `value`; the index is made on first use. */
  where<T extends RecordType>(
    type: T,
    field: keyof RecordFields[T] & string,
    value: string,
  ): readonly View<T>[];
  /** The bag with this label code in any kit of the workshop, loaded or not. More than one: ask. */
  bagsByCode(code: string): Promise<readonly View<"bag">[]>;
  /** The bags to which this barcode was taught, in any kit, loaded or not; `text` as it is kept. */
  bagsByBarcode(text: string): Promise<readonly View<"bag">[]>;
  /**
   * Writes drafts as changes of this device. Resolves when the IndexedDB transaction is complete;
   * rejects with StorageFailure (nothing saved) otherwise. `together`: all or none on the server.
   * `remove`: records to delete, as this device sees them now, in the same transaction.
   */
  write(
    drafts: readonly Draft[],
    options?: { together?: boolean; remove?: readonly View[] },
  ): Promise<void>;
  /** Marks records deleted, as this device sees them now. */
  remove(views: readonly View[]): Promise<void>;
  /** Keeps or deletes a record that was deleted here and changed there. */
  settleDelete(view: View, keep: boolean): Promise<void>;
}

/** Where the exchange with the server stands; one signal, shown everywhere. */
export interface ExchangeState {
  /** `starting`: not asked yet. `unpaired`: 401. `tooOld`: 426, the app must be updated. */
  server: "starting" | "reached" | "unreachable" | "unpaired" | "tooOld";
  unsentChanges: number;
  unsentPhotos: number;
  parked: readonly Parked[];
  /** Rows of the outbox that this app cannot read, put aside. */
  quarantined: number;
  lastExchangeAt: number | null;
  /** What the server said instead of doing its part, when it can be reached but does not work. */
  refusal: { type: string; title: string; detail?: string } | null;
  /** Set when the device's storage refused something; in plain words. */
  storage: null | "full" | "blocked" | "lost";
}

/** A change that the server refused, kept until a person lets it go or sends it again. */
export interface Parked {
  change: string;
  type: string;
  record: string;
  set: Readonly<Record<string, unknown>>;
  problem: { type: string; title: string; detail?: string };
  /** How many other changes stand or fall with it. */
  along: number;
}

export interface Courier {
  readonly state: ReadonlySignal<ExchangeState>;
  /** Push, pull, photos: now, if none is under way. Never throws. */
  exchange(): Promise<void>;
  retryParked(change: string): Promise<void>;
  dropParked(change: string): Promise<void>;
}

/** This device as the server knows it. */
export interface Session {
  workshop: { id: string; name: string };
  device: { id: string; name: string; clock: string };
  publicUrl: string;
}

/** A picture as it is to be kept. */
export interface StraightPage {
  type: "image/jpeg";
  bytes: ArrayBuffer;
  widthPx: number;
  heightPx: number;
}

export interface Photos {
  /**
   * Keeps a picture: upright, stripped, at most 2560 px on the long side; bytes and `photo` record are
   * saved in one transaction. Rejects with PictureRefused (not a picture, too large) or StorageFailure.
   */
  add(file: Blob, about: { build: string; step: string | null }): Promise<void>;
  /**
   * Keeps a straightened page of a manual: its bytes, its record and the steps that it is attached
   * to, in one transaction. `order`: key of its place among the kit's pages. Answers the page's id;
   * rejects with StorageFailure.
   */
  addPage(
    page: StraightPage,
    about: {
      kit: string;
      number: string | null;
      order: string;
      /** `frame`: left, top, width, height as fractions of the page; null: all of it. */
      steps: readonly { id: string; frame: readonly number[] | null }[];
    },
  ): Promise<string>;
  /** Keeps a picture that is being worked on, under a name. Rejects with StorageFailure. */
  hold(name: string, file: Blob): Promise<void>;
  held(name: string): Promise<Blob | null>;
  letGo(name: string): Promise<void>;
  /** URL to show a picture; `null` while it is only on another device. Call `release` when off screen. */
  show(
    blob: string,
    size: "thumb" | "preview" | "full",
  ): Promise<{ url: string; release: () => void } | null>;
}

/** What a call to the server came to; screens show `problem` as it is (RFC 9457, plain words). */
export type Answer<T> =
  | { kind: "ok"; value: T }
  | { kind: "problem"; problem: Refusal }
  | { kind: "offline" };

export interface Refusal {
  type: string;
  title: string;
  status: number;
  detail?: string;
}

/**
 * How this device stands with its workshop. Remembered, so that a start without network is
 * `paired` at once. `claimable`: a new server, and this browser is on its own machine.
 */
export type Standing =
  | { kind: "starting" }
  | { kind: "claimable" }
  | { kind: "unpaired"; last: Session | null }
  | { kind: "paired"; session: Session };

export type DeviceKind = "phone" | "tablet" | "desk";

/** Pairing code in clear, URL and QR symbol (SVG text) that hold it; `expiresAt` in ms since 1970. */
export interface Invitation {
  code: string;
  url: string;
  svg: string;
  expiresAt: number;
}

/** Geometry of a label sheet as `GET /api/sheets` says it; millimetres. */
export interface Sheet {
  name: string;
  width_mm: number;
  height_mm: number;
  columns: number;
  rows: number;
  label_width_mm: number;
  label_height_mm: number;
}

/** Whose device this is, and what only the server can do. Nothing here throws. */
export interface Membership {
  readonly standing: ReadonlySignal<Standing>;
  claim(workshop: string, name: string, kind: DeviceKind): Promise<Answer<Session>>;
  redeem(code: string, name: string, kind: DeviceKind): Promise<Answer<Session>>;
  invite(): Promise<Answer<Invitation>>;
  revoke(device: string): Promise<Answer<null>>;
  /** Adds the demo kit and a build of it on the server, then pulls; answers the build's id. */
  addDemo(): Promise<Answer<{ build: string }>>;
  sheets(): Promise<Answer<readonly Sheet[]>>;
}

/** What the device promises about keeping things. */
export interface Keeping {
  /** `null`: the browser cannot say. */
  readonly persisted: ReadonlySignal<boolean | null>;
  askToPersist(): Promise<boolean>;
  /** Everything unsent (changes and photos) as one file, to be kept elsewhere. */
  copyUnsent(): Promise<Blob>;
  /**
   * Takes in such a file; what is here already is left out. Answers how many changes were taken in;
   * rejects with CopyRefused (its message says why) or StorageFailure.
   */
  loadCopy(file: Blob): Promise<number>;
}

/** The app's own files on this device: kept for offline use, and whether a newer app waits. */
export interface AppFiles extends Updates {
  readonly version: string;
}

/**
 * Words being typed, kept on this device at every key stroke until they are saved as a record or
 * thrown away, so that a reload or a page killed behind the camera loses none. Never throws;
 * `db/jotter.ts` makes it.
 */
export interface Jotter {
  read(key: string): string | undefined;
  write(key: string, text: string): void;
  drop(key: string): void;
}

/** Getting a kit in: read by the server, looked through here, taken in there. Nothing here throws. */
export interface Intakes {
  /** Those that are not yet taken or thrown away. */
  list(): Promise<Answer<readonly Intake[]>>;
  /** Sends a file or text; `kit`: that it is for, null for a new one. `signal` gives it up. */
  start(
    body: Blob,
    what: { readonly kind: IntakeKind; readonly name: string; readonly kit: string | null },
    signal?: AbortSignal,
  ): Promise<Answer<Intake>>;
  look(id: string): Promise<Answer<Intake>>;
  /** Tells where one stands, now and as it moves, until the returned function is called. */
  watch(id: string, hear: (answer: Answer<Intake>) => void): () => void;
  /** The same of {@link list}. */
  watchList(hear: (answer: Answer<readonly Intake[]>) => void): () => void;
  stop(id: string): Promise<Answer<Intake>>;
  resume(id: string): Promise<Answer<Intake>>;
  throwAway(id: string): Promise<Answer<null>>;
  /** Has a table read anew in another way. */
  layout(id: string, change: LayoutChange): Promise<Answer<Intake>>;
  findings(id: string, query: FindingsQuery): Promise<Answer<FindingsPage>>;
  /** The same, to the end. */
  allFindings(id: string, query: FindingsQuery): Promise<Answer<readonly Finding[]>>;
  /** Answers the findings as they are then, those that were added too. */
  correct(id: string, corrections: Corrections): Promise<Answer<readonly Finding[]>>;
  unfit(id: string, after: number, limit: number): Promise<Answer<UnfitPage>>;
  pages(id: string): Promise<Answer<readonly ManualPage[]>>;
  /** Writes it into its kit, and has that in memory if the server can still be reached. */
  take(id: string, taking: Taking): Promise<Answer<Taken>>;
}

/** Everything that the screens are given: `sync/app.ts` makes it, `main.tsx` adds the files. */
export interface Bench {
  store: Store;
  jotter: Jotter;
  courier: Courier;
  photos: Photos;
  membership: Membership;
  /** Loaded when first asked for: only some screens want it. */
  intakes: () => Promise<Intakes>;
  keeping: Keeping;
  files: AppFiles;
}
