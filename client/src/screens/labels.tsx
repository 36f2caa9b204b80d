/** Labels of a kit's bags, on sheets known by their geometry. The server draws them. */
import { useEffect, useState } from "preact/hooks";
import { inClear } from "../core/codes";
import { byOrder } from "../core/order";
import { keepPreference, readPreference } from "../db/preferences";
import { to } from "../routes";
import { useBench } from "../ui/bench-context";
import { BigButton, QuietButton, Row } from "../ui/buttons";
import { Choose, Field } from "../ui/field";
import { Page } from "../ui/page";
import { Loading, Notice, Offline, Trouble } from "../ui/states";
import { Tag, TagList } from "../ui/tag";
import { number, words } from "../ui/words";
import { deskWords } from "../ui/words-desk";
import type { Answer, Sheet } from "../sync/types";

const text = deskWords.labels;

/** Greatest correction of a printer, in mm; the server refuses more. */
const OFFSET_MAX_MM = 15;

/** Millimetres as typed, comma or point; null if it is no number within what can be corrected. */
export function offsetOf(typed: string): number | null {
  const figure = typed.trim().replace(",", ".").replace("−", "-");
  if (figure === "") return 0;
  if (!/^[+-]?\d+(\.\d+)?$/.test(figure)) return null;
  const value = Number(figure);
  return Math.abs(value) <= OFFSET_MAX_MM ? value : null;
}

/** A label to begin at, 1 to `most`; null if it is none. */
export function startOf(typed: string, most: number): number | null {
  if (!/^\d{1,4}$/.test(typed.trim())) return null;
  const value = Number(typed);
  return value >= 1 && value <= most ? value : null;
}

function sheetName(sheet: Sheet): string {
  const paper = Math.abs(sheet.width_mm - 210) < 0.5 ? "A4" : "Letter";
  return text.sheetName(
    paper,
    sheet.columns,
    sheet.rows,
    number(sheet.label_width_mm),
    number(sheet.label_height_mm),
  );
}

/** What is to be printed, as it is typed. */
function usePrintOrder(kit: string, sheets: readonly Sheet[], bags: number) {
  const [name, setName] = useState(() => readPreference("sheet") ?? "");
  const [start, setStart] = useState("1");
  const [right, setRight] = useState("0");
  const [down, setDown] = useState("0");
  const sheet = sheets.find((one) => one.name === name) ?? sheets[0];
  if (!sheet) return null;
  const most = sheet.columns * sheet.rows;
  const from = startOf(start, most);
  const dx = offsetOf(right);
  const dy = offsetOf(down);
  const query = new URLSearchParams({
    sheet: sheet.name,
    start: String(from ?? 1),
    dx: String(dx ?? 0),
    dy: String(dy ?? 0),
  }).toString();
  return {
    sheets,
    sheet,
    start: { typed: start, set: setStart, most, bad: from === null },
    right: { typed: right, set: setRight, bad: dx === null },
    down: { typed: down, set: setDown, bad: dy === null },
    setSheet: (value: string) => {
      setName(value);
      keepPreference("sheet", value);
    },
    /** All of it can be read. */
    good: from !== null && dx !== null && dy !== null,
    pdf: `/labels/kits/${kit}.pdf?${query}`,
    picture: `/labels/kits/${kit}.png?${query}`,
    bags,
    pages: Math.ceil((bags + (from ?? 1) - 1) / most),
  };
}

type PrintOrder = NonNullable<ReturnType<typeof usePrintOrder>>;

function Printing({ order }: { order: PrintOrder }) {
  const [broken, setBroken] = useState("");
  const { sheet, start, right, down, good, picture } = order;
  return (
    <>
      <Choose
        label={text.sheet}
        hint={text.sheetHint}
        value={sheet.name}
        options={order.sheets.map((one) => [one.name, sheetName(one)] as const)}
        onChange={order.setSheet}
      />
      <Field
        label={text.start}
        hint={text.startHint(start.most)}
        value={start.typed}
        onInput={start.set}
        inputMode="numeric"
        error={start.bad ? text.startBad(start.most) : null}
      />
      <details>
        <summary>{text.offset}</summary>
        <div class="block">
          <p class="soft">{text.offsetHint}</p>
          {/* Plain keyboard: some phones' number pads have no minus. */}
          <Field
            label={text.right}
            unit="mm"
            value={right.typed}
            onInput={right.set}
            error={right.bad ? text.offsetBad : null}
          />
          <Field
            label={text.down}
            unit="mm"
            value={down.typed}
            onInput={down.set}
            error={down.bad ? text.offsetBad : null}
          />
        </div>
      </details>
      <Notice sign="under_way">
        <p>{text.scale}</p>
        <p>{text.paper}</p>
      </Notice>
      {good && (
        <figure class="print">
          <figcaption>
            {text.preview} · {text.pages(order.bags, order.pages)}
          </figcaption>
          {broken === picture ? (
            <Trouble title={text.noPreview} onRetry={() => setBroken("")} />
          ) : (
            <img
              src={picture}
              alt={text.previewAlt}
              width={Math.round(sheet.width_mm * 4)}
              height={Math.round(sheet.height_mm * 4)}
              onError={() => setBroken(picture)}
            />
          )}
        </figure>
      )}
      <Row>
        <QuietButton href={order.pdf} download="labels.pdf" off={!good}>
          {text.savePdf}
        </QuietButton>
      </Row>
    </>
  );
}

export default function Labels({ kit: kitId }: { kit: string }) {
  const { store, membership, courier } = useBench();
  const [loaded, setLoaded] = useState(false);
  const [answer, setAnswer] = useState<Answer<readonly Sheet[]> | null>(null);
  const ask = () => {
    setAnswer(null);
    void membership.sheets().then(setAnswer);
  };
  useEffect(() => {
    const done = () => setLoaded(true);
    store.load(kitId).then(done, done);
  }, [store, kitId]);
  const reached = courier.state.value.server === "reached";
  useEffect(ask, [membership, reached]);

  const kit = store.get("kit", kitId);
  const bags = store.where("bag", "kit", kitId).map((bag) => ({
    id: bag.id,
    order: bag.values.order,
    number: bag.values.number ?? "",
    title: bag.values.title ?? "",
    code: bag.values.code ?? null,
    unsent: bag.unsent,
  }));
  bags.sort(byOrder);
  const labelled = bags.filter((bag) => bag.code !== null);
  const sheets = answer?.kind === "ok" ? answer.value : [];
  const order = usePrintOrder(kitId, sheets, labelled.length);
  const build = store.where("build", "kit", kitId)[0];

  if (!kit) {
    return (
      <Page title={text.title} back={to.builds()} backLabel={words.nav.builds}>
        {loaded ? <p>{text.noKit}</p> : <Loading />}
      </Page>
    );
  }
  const waits = kit.unsent || bags.some((bag) => bag.unsent);
  const offline = !reached || answer?.kind === "offline";
  const printing = labelled.length > 0 && !offline && !waits;
  return (
    <Page
      title={text.title}
      above={kit.values.name}
      back={to.builds()}
      backLabel={words.nav.builds}
      actions={
        printing && order ? (
          <BigButton href={order.pdf} newTab off={!order.good}>
            {text.makePdf}
          </BigButton>
        ) : undefined
      }
    >
      {labelled.length === 0 ? (
        loaded ? <p>{text.noBags}</p> : <Loading />
      ) : offline ? (
        <Notice sign="cut">
          <p>{text.offline}</p>
          <BigButton
            onTap={() => {
              void courier.exchange();
              ask();
            }}
          >
            {words.shared.tryAgain}
          </BigButton>
        </Notice>
      ) : waits ? (
        <Notice sign="string">
          <p>{text.waitSent}</p>
        </Notice>
      ) : answer === null ? (
        <Loading />
      ) : answer.kind === "problem" ? (
        <Trouble title={answer.problem.title} detail={answer.problem.detail} onRetry={ask} />
      ) : order ? (
        <Printing order={order} />
      ) : (
        <Offline />
      )}
      {labelled.length > 0 && (
        <section class="block">
          <h2>{text.codes}</h2>
          <TagList label={text.codes}>
            {labelled.map((bag) => (
              <Tag
                key={bag.id}
                number={bag.number}
                title={<span class="code">{inClear(bag.code ?? "")}</span>}
                note={bag.title || undefined}
              />
            ))}
          </TagList>
        </section>
      )}
      {build && <QuietButton href={to.path(build.id)}>{text.toPath}</QuietButton>}
    </Page>
  );
}
