/** A paste that does not fit as it is: what, where and why, to be mended, left out or thrown away. */
import { useEffect, useRef, useState } from "preact/hooks";
import type { Unfit } from "../../core/sheet";
import { Field, Notice, QuietButton, Row } from "../../ui/parts";
import { kitWords } from "../../ui/words-kit";
import type { TableColumn } from "./columns";

const text = kitWords.table;
/** Shown at once: whoever has more of them mends the spreadsheet. */
const SHOWN_MAX = 12;

export interface Pending {
  /** Cells of the paste. */
  cells: readonly (readonly string[])[];
  /** Its upper left corner in the table. */
  row: number;
  column: number;
  /** Rows of the paste that are left out. */
  leave: ReadonlySet<number>;
  unfit: readonly Unfit<string>[];
}

const whyOf = ({ why }: Unfit<string>): string =>
  why === "beyond" || why === "fixed" || why === "missing" ? text[why] : why;

export function UnfitPaste(props: {
  pending: Pending;
  columns: readonly TableColumn[];
  /** Tries again with other cells, or with rows left out. */
  onChange: (pending: Pending) => void;
  onDrop: () => void;
}) {
  const { pending, columns } = props;
  const { unfit, cells } = pending;
  const [mended, setMended] = useState<Readonly<Record<string, string>>>({});
  const notice = useRef<HTMLDivElement>(null);
  useEffect(() => notice.current?.focus(), []);
  const rows = new Set(unfit.map(({ row }) => row));
  const labelOf = ({ row, column }: Unfit<string>) => {
    const label = columns[pending.column + column]?.label;
    return text.cell(pending.row + row + 1, label ?? text.beyondName(column + 1));
  };
  const key = ({ row, column }: Unfit<string>) => `${row} ${column}`;
  // A cell left of the paste is not part of it: only leaving the row out helps there.
  const mendable = (one: Unfit<string>) => one.column >= 0 && one.why !== "fixed";
  const tryAgain = () =>
    props.onChange({
      ...pending,
      cells: cells.map((line, row) => {
        const of = unfit.filter((one) => one.row === row && mended[key(one)] !== undefined);
        if (of.length === 0) return line;
        const next = [...line];
        for (const one of of) {
          while (next.length <= one.column) next.push("");
          next[one.column] = mended[key(one)] ?? "";
        }
        return next;
      }),
    });
  return (
    <div ref={notice} tabIndex={-1} class="kit-unfit">
      <Notice title={text.unfitTitle(unfit.length)} loud>
        <p>{text.unfitHelp}</p>
        <ul role="list" class="kit-unfit-list">
          {unfit.slice(0, SHOWN_MAX).map((one) => (
            <li key={key(one)}>
              {mendable(one) ? (
                <Field
                  label={labelOf(one)}
                  hint={whyOf(one)}
                  value={mended[key(one)] ?? one.text}
                  onInput={(next) => setMended({ ...mended, [key(one)]: next })}
                  onEnter={tryAgain}
                />
              ) : (
                <p>
                  <strong>{labelOf(one)}</strong>: {whyOf(one)} {one.text}
                </p>
              )}
            </li>
          ))}
        </ul>
        {unfit.length > SHOWN_MAX && <p>{text.unfitMore(unfit.length - SHOWN_MAX)}</p>}
        <Row>
          <QuietButton onTap={tryAgain}>{text.tryAgain}</QuietButton>
          <QuietButton
            onTap={() =>
              props.onChange({ ...pending, leave: new Set([...pending.leave, ...rows]) })
            }
          >
            {text.leave(rows.size)}
          </QuietButton>
          <QuietButton onTap={props.onDrop}>{text.drop}</QuietButton>
        </Row>
      </Notice>
    </div>
  );
}
