/** How a table is read: what each column is taken for, and how to have it read otherwise. */
import { useState } from "preact/hooks";
import { COLUMNS, sureness, type ColumnField, type Layout, type LayoutChange } from "../../core/intakes";
import { Choose, Field, Mark, Notice, QuietButton, Row } from "../../ui/parts";
import { intakeWords } from "../../ui/words-intake";

const text = intakeWords.table;
const NOTHING = "";

const SIGNS = { sure: "done", likely: "under_way", look: "caution" } as const;

/** What a person wants otherwise, not yet read anew. */
export interface LayoutDraft {
  readonly change: LayoutChange;
  readonly touched: boolean;
  readonly wrong: boolean;
  set(change: LayoutChange): void;
  only(change: LayoutChange): void;
  reset(): void;
}

export function useLayoutDraft(): LayoutDraft {
  const [change, setChange] = useState<LayoutChange>({});
  const heading = change.heading_row;
  return {
    change,
    touched: Object.keys(change).length > 0,
    wrong: heading !== undefined && !(Number.isInteger(heading) && heading >= 0 && heading <= 100),
    set: (more) => setChange({ ...change, ...more }),
    only: setChange,
    reset: () => setChange({}),
  };
}

/** The columns as a person would have them. */
function fieldsOf(layout: Layout, change: LayoutChange): readonly (ColumnField | null)[] {
  return change.columns ?? layout.columns.map((one) => one.field);
}

export function Columns({ layout, draft }: { layout: Layout; draft: LayoutDraft }) {
  const { change } = draft;
  const fields = fieldsOf(layout, change);
  const options = [
    [NOTHING, text.nothing] as const,
    ...COLUMNS.map((field) => [field, text.fields[field]] as const),
  ];
  const typedRow = change.heading_row ?? layout.headingRow;
  return (
    <section class="block">
      <h2>{text.columns}</h2>
      {layout.remembered && !draft.touched && (
        <Notice sign="string">
          <p>{text.remembered}</p>
        </Notice>
      )}
      <p class="soft">{text.columnsHelp}</p>
      {layout.sheets.length > 1 && (
        <Choose
          label={text.sheet}
          value={change.sheet ?? layout.sheet}
          options={layout.sheets.map((one) => [one, one] as const)}
          // Another sheet has other columns.
          onChange={(sheet) => draft.only({ sheet })}
        />
      )}
      <ul role="list" class="columns">
        {layout.columns.map((column, at) => {
          const heading = text.column(column.at, column.heading);
          const field = fields[at] ?? null;
          const own = field !== column.field;
          const sure = own ? "sure" : sureness({ sure: column.sure, asks: [] });
          return (
            <li key={column.at} class={field === null ? "is-out" : ""}>
              <Choose
                label={text.takenFor(heading)}
                value={field ?? NOTHING}
                options={options}
                onChange={(value) =>
                  draft.set({
                    columns: fields.map((one, nth) =>
                      nth === at ? (COLUMNS.find((name) => name === value) ?? null) : one,
                    ),
                  })
                }
              />
              <p class="soft">{text.samples(column.samples.slice(0, 3))}</p>
              <span class="state">
                <Mark sign={own ? "done" : SIGNS[sure]} />
                {own ? intakeWords.findings.corrected : text.sure[sure]}
              </span>
            </li>
          );
        })}
      </ul>
      <details>
        <summary>{text.howRead}</summary>
        <div class="block">
          <Field
            label={text.headingRow}
            hint={text.headingHint}
            inputMode="numeric"
            value={Number.isNaN(typedRow) ? "" : String(typedRow)}
            error={draft.wrong ? text.headingBad : null}
            onInput={(typed) =>
              draft.set({ heading_row: /^\d{1,3}$/.test(typed.trim()) ? Number(typed) : Number.NaN })
            }
          />
          <Choose
            label={text.decimal}
            value={change.decimal ?? layout.decimal}
            options={[[".", text.point] as const, [",", text.comma] as const]}
            onChange={(value) => draft.set({ decimal: value === "," ? "," : "." })}
          />
        </div>
      </details>
      {draft.touched && (
        <Row>
          <QuietButton onTap={draft.reset}>{text.reset}</QuietButton>
        </Row>
      )}
    </section>
  );
}
