/** Lists of the editor: a row opens to its fields, its place in the list, and its end. */
import type { ComponentChildren } from "preact";
import { useEffect, useId, useRef, useState } from "preact/hooks";
import { takings, type Takings, type Where } from "../../core/belongs";
import { moved } from "../../core/placing";
import type { RecordName } from "../../core/undo";
import type { RecordType } from "../../core/records";
import type { Draft, Store, View } from "../../sync/types";
import { Choose, Clashes, Mark, Notice, QuietButton, Row, useBench } from "../../ui/parts";
import { kitWords } from "../../ui/words-kit";
import { clashText, nameOf } from "./names";
import { unitOf, type Editor } from "./use-editor";

/** The order of a record among its siblings, for core. */
export const placed = (view: View): { id: string; order: string | null } => ({
  id: view.id,
  order: (view.values as { order?: string | null }).order ?? null,
});

/** What goes when records are deleted, by what this device has. */
export function takingsOf(store: Store, records: readonly RecordName[]): Takings {
  const where: Where = (type, field, id) =>
    store.where(type as RecordType, field as never, id) as readonly View[];
  return takings(records, where);
}

export function isAsked(view: View<RecordType>): boolean {
  return view.deleteAsked || view.clashes.length > 0;
}

/** Deletes records with what only lives in them, at one go. */
export function removeAll(
  editor: Editor,
  takings: Takings,
  said: string,
): Promise<boolean> {
  const drafts = takings.cleared.map(({ type, id, set }) => ({ type, id, set }) as Draft);
  return editor.save(drafts, { said, remove: takings.gone, together: true });
}

/** What a delete takes along, before it is done. */
export function AskRemove(props: {
  what: string;
  takings: Takings;
  onRemove: () => void;
  onKeep: () => void;
}) {
  const { along, loses, stays } = props.takings;
  return (
    <Notice title={kitWords.removeTitle(props.what)} loud>
      {along.size > 0 && <p>{kitWords.removeAlong(along)}</p>}
      {loses.size > 0 && <p>{kitWords.removeLoses(loses)}</p>}
      {stays.size > 0 && <p>{kitWords.removeStays(stays)}</p>}
      <p>{kitWords.removeUndo}</p>
      <Row>
        <QuietButton onTap={props.onRemove}>{kitWords.removeDo}</QuietButton>
        <QuietButton onTap={props.onKeep}>{kitWords.keepIt}</QuietButton>
      </Row>
    </Notice>
  );
}

export interface RowWords {
  /** Stamped large: a number. */
  number?: string | undefined;
  title: string;
  note?: string | undefined;
  /** Small, before the words. */
  picture?: ComponentChildren | undefined;
  /** Something to look at: a number that is there twice. */
  warn?: string | undefined;
}

interface ListProps<T extends RecordType> {
  editor: Editor;
  /** In the order shown. */
  views: readonly View<T>[];
  row: (view: View<T>) => RowWords;
  /** What can be changed of one, when its row is open. */
  children: (view: View<T>) => ComponentChildren;
  /** A way to a screen of its own, beside the fields. */
  href?: ((view: View<T>) => string) | undefined;
  /** Those without an order key stand by themselves. */
  still?: boolean | undefined;
  /** Opened from outside: what was just added. */
  open?: string | null | undefined;
  label: string;
}

export function EditList<T extends RecordType>(props: ListProps<T>) {
  const { views } = props;
  const [open, setOpen] = useState<string | null>(null);
  const asked = useRef(props.open);
  useEffect(() => {
    if (props.open && props.open !== asked.current) setOpen(props.open);
    asked.current = props.open;
  }, [props.open]);
  if (views.length === 0) return null;
  return (
    <ul class="kit-list" role="list" aria-label={props.label}>
      {views.map((view, at) => (
        <EditRow
          key={view.id}
          list={props}
          view={view}
          at={at}
          open={open === view.id}
          onOpen={(on) => setOpen(on ? view.id : null)}
        />
      ))}
    </ul>
  );
}

function EditRow<T extends RecordType>(props: {
  list: ListProps<T>;
  view: View<T>;
  at: number;
  open: boolean;
  onOpen: (open: boolean) => void;
}) {
  const { list, view, open } = props;
  const row = list.row(view);
  const id = useId();
  const asked = isAsked(view);
  return (
    <li class={open ? "kit-row is-open" : "kit-row"}>
      <button
        type="button"
        class="kit-row-head"
        aria-expanded={open}
        aria-controls={open ? id : undefined}
        onClick={() => props.onOpen(!open)}
      >
        {row.picture !== undefined && (
          // Beside its name, which says all that can be heard of it.
          <span class="kit-thumb" aria-hidden="true">
            {row.picture}
          </span>
        )}
        {row.number !== undefined && <span class="kit-number">{row.number}</span>}
        <span class="kit-row-words">
          <span>{row.title}</span>
          {row.note && <span class="soft">{row.note}</span>}
          {row.warn && (
            <span class="kit-warn">
              <Mark sign="caution" /> {row.warn}
            </span>
          )}
          {asked && (
            <span class="kit-warn">
              <Mark sign="two_tags" />{" "}
              {view.deleteAsked ? kitWords.deleteAskedHere : kitWords.askedHere}
            </span>
          )}
        </span>
      </button>
      {open && (
        <div class="kit-row-body" id={id}>
          <RecordClashes view={view} />
          {list.href && (
            <Row>
              <QuietButton href={list.href(view)}>{kitWords.openStep}</QuietButton>
            </Row>
          )}
          {list.children(view)}
          <Deeds {...props} onGone={() => props.onOpen(false)} />
        </div>
      )}
    </li>
  );
}

/** What a person has to be asked about a record, in the editor's words. */
export function RecordClashes<T extends RecordType>({ view }: { view: View<T> }) {
  const { store } = useBench();
  return (
    <Clashes
      view={view}
      labels={kitWords.fields}
      format={clashText(store, view.type, unitOf(store))}
    />
  );
}

function Deeds<T extends RecordType>(props: {
  list: ListProps<T>;
  view: View<T>;
  at: number;
  onGone: () => void;
}) {
  const { store } = useBench();
  const { list, view, at } = props;
  const { editor, views } = list;
  const [taking, setTaking] = useState<Takings | null>(null);
  const row = useRef<HTMLDivElement>(null);
  const pressed = useRef<number | null>(null);
  const what = nameOf(store, view.type, view.id);
  useEffect(() => {
    // Moved in the list, the button that was pressed must not lose the focus.
    if (pressed.current === null) return;
    row.current?.querySelectorAll<HTMLElement>("button")[pressed.current]?.focus();
    pressed.current = null;
  }, [at]);

  const move = (to: number) => {
    if (to < 0 || to >= views.length || to === at) return;
    const drafts = moved(views.map((one) => placed(one as View)), view.id, to).map(
      ({ id, order }) => ({ type: view.type, id, set: { order } }) as Draft,
    );
    void editor.save(drafts, { said: kitWords.said.moved(what) });
  };
  const remove = (of: Takings) =>
    void removeAll(editor, of, kitWords.said.removed(what)).then(
      (saved) => saved && props.onGone(),
    );
  const ask = () => {
    const of = takingsOf(store, [{ type: view.type, id: view.id }]);
    if (of.along.size + of.loses.size + of.stays.size > 0) setTaking(of);
    else remove(of);
  };
  return (
    <>
      <div class="row" ref={row}>
        {!list.still && (
          <>
            <QuietButton
              off={at === 0}
              label={kitWords.upOf(what)}
              onTap={() => {
                pressed.current = 0;
                move(at - 1);
              }}
            >
              {kitWords.up}
            </QuietButton>
            <QuietButton
              off={at === views.length - 1}
              label={kitWords.downOf(what)}
              onTap={() => {
                pressed.current = 1;
                move(at + 1);
              }}
            >
              {kitWords.down}
            </QuietButton>
          </>
        )}
        <QuietButton label={kitWords.removeOf(what)} onTap={ask}>
          {kitWords.remove}
        </QuietButton>
      </div>
      {!list.still && views.length > 3 && (
        <Choose
          label={kitWords.placeAfter}
          value=""
          options={[
            ["", kitWords.placeStays],
            ["first", kitWords.placeFirst],
            ...views
              .filter(({ id }) => id !== view.id)
              .map((one): [string, string] => {
                const { number, title } = list.row(one);
                return [one.id, [number, title].filter(Boolean).join(" ")];
              }),
          ]}
          onChange={(after) => {
            const rest = views.filter(({ id }) => id !== view.id);
            if (after) move(after === "first" ? 0 : rest.findIndex(({ id }) => id === after) + 1);
          }}
        />
      )}
      {taking && (
        <AskRemove
          what={what}
          takings={taking}
          onRemove={() => remove(taking)}
          onKeep={() => setTaking(null)}
        />
      )}
    </>
  );
}
