/** Start a kit: from two ranges of the manual, a table, a copied list, or the manual itself. */
import { useEffect, useMemo, useRef, useState } from "preact/hooks";
import { useLocation } from "preact-iso";
import { randomId } from "../core/ids";
import { guessServes, parseOutline, type Outline, type OutlineError, type OutlineText } from "../core/outline";
import { to } from "../routes";
import { useBench, useSession } from "../ui/bench-context";
import { BigButton, QuietButton, Row } from "../ui/buttons";
import { Field } from "../ui/field";
import { Page, Reach } from "../ui/page";
import { say, sayTrouble } from "../ui/say";
import { Sheet } from "../ui/sheet";
import { Notice } from "../ui/states";
import { Tag, TagList } from "../ui/tag";
import { words } from "../ui/words";
import { deskWords } from "../ui/words-desk";
import { intakeWords } from "../ui/words-intake";
import type { Draft, Store } from "../sync/types";
import Waiting from "./intake/waiting";
import { DropHint, SentWay, useSentWays, useWay, Ways, type Way } from "./intake/ways";
import { asRanges, kitFromOutline, type MadeKit, withBagLine } from "./kit/from-outline";

const text = deskWords.kitNew;
/** A slip is told when typing has paused for so long. */
const PAUSE_MS = 900;
const TAGS_AT_FIRST = 12;

type Input = HTMLInputElement | HTMLTextAreaElement;

/** What is typed, kept at every key stroke until the kit is made. */
function useTyped(key: string, first: string): [string, (value: string) => void, () => void] {
  const { jotter } = useBench();
  const [value, setValue] = useState(() => jotter.read(`kit.${key}`) ?? first);
  return [
    value,
    (next) => {
      setValue(next);
      jotter.write(`kit.${key}`, next);
    },
    () => jotter.drop(`kit.${key}`),
  ];
}

/** What is wrong in one field: what was typed there, why, and a tap that leads to it. */
function Slips(props: { errors: readonly OutlineError[]; typed: string; input: Input | null }) {
  return (
    <ul role="list" class="slips">
      {props.errors.map((error) => (
        <li key={`${error.start}-${error.says}`}>
          <button
            type="button"
            onClick={() => {
              props.input?.focus();
              props.input?.setSelectionRange(error.start, error.end);
            }}
          >
            <mark>{props.typed.slice(error.start, error.end) || "…"}</mark> {error.says}
          </button>
        </li>
      ))}
    </ul>
  );
}

/** Which steps a bag serves, by taps. */
function BagSteps(props: {
  outline: Outline;
  bag: string;
  onChange: (steps: readonly string[]) => void;
}) {
  const { outline, bag } = props;
  const served = new Set(outline.serves.find((one) => one.bag === bag)?.steps);
  const toggle = (step: string) => {
    const next = new Set(served);
    if (!next.delete(step)) next.add(step);
    props.onChange(outline.steps.map((one) => one.number).filter((one) => next.has(one)));
  };
  const groups = new Map<number | null, string[]>();
  for (const { number, section } of outline.steps) {
    groups.set(section, [...(groups.get(section) ?? []), number]);
  }
  return (
    <>
      <p>{text.tapHelp}</p>
      {[...groups].map(([section, steps]) => {
        const about = section === null ? undefined : outline.sections[section];
        return (
          <fieldset class="switch" key={section ?? "none"}>
            <legend>{about?.title ?? text.section(about?.mark ?? "")}</legend>
            <Row>
              {steps.map((step) => (
                <QuietButton key={step} pressed={served.has(step)} onTap={() => toggle(step)}>
                  {step}
                </QuietButton>
              ))}
            </Row>
          </fieldset>
        );
      })}
    </>
  );
}

function Preview({ outline, onBag }: { outline: Outline; onBag: (bag: string) => void }) {
  const [all, setAll] = useState(false);
  if (outline.steps.length === 0 && outline.bags.length === 0) {
    return <p class="soft">{text.nothingYet}</p>;
  }
  const serves = new Map(outline.serves.map(({ bag, steps }) => [bag, steps]));
  const shown = all ? outline.bags : outline.bags.slice(0, TAGS_AT_FIRST);
  const more = outline.bags.length - shown.length;
  return (
    <section class="block">
      <h2>{text.preview(outline.bags.length, outline.steps.length, outline.sections.length)}</h2>
      {shown.length > 0 && (
        <TagList label={text.bags}>
          {shown.map((bag) => {
            const steps = serves.get(bag) ?? [];
            return (
              <Tag
                key={bag}
                title={text.bag(bag)}
                note={steps.length > 0 ? text.servesSteps(asRanges(steps)) : text.servesNone}
                onTap={() => onBag(bag)}
              />
            );
          })}
        </TagList>
      )}
      {more > 0 && <QuietButton onTap={() => setAll(true)}>{text.more(more)}</QuietButton>}
    </section>
  );
}

/** Takes everything back that was made. */
async function takeBack(store: Store, drafts: readonly Draft[]): Promise<void> {
  const views = drafts
    .map(({ type, id }) => store.get(type, id))
    .filter((view) => view !== undefined);
  await store.remove(views);
  say(text.undone);
}

const WAYS: readonly Way[] = ["outline", "table", "text", "manual"];

export default function NewKit() {
  const [way, setWay] = useWay("new", WAYS);
  const { sending, dropping } = useSentWays(null, way, setWay);
  return (
    <Page title={text.title} back={to.builds()} backLabel={words.nav.builds}>
      <Waiting />
      <DropHint dropping={dropping} />
      <Ways legend={intakeWords.ways.legend} ways={WAYS} way={way} onWay={setWay} />
      {way === "outline" ? (
        <OutlineWay />
      ) : (
        <SentWay way={way} kit={null} sending={sending} onWay={setWay} />
      )}
    </Page>
  );
}

/** Two ranges, and there are bags, steps, codes and labels; needs no server. */
function OutlineWay() {
  const { store } = useBench();
  const session = useSession();
  const { route } = useLocation();
  const [name, setName, dropName] = useTyped("name", text.nameDefault);
  const [steps, setSteps, dropSteps] = useTyped("steps", "");
  const [bags, setBags, dropBags] = useTyped("bags", "");
  const [serves, setServes, dropServes] = useTyped("serves", "");
  // Only at first: a fold that closes itself while its text is deleted would be a nuisance.
  const [opened] = useState(serves !== "");
  const [paused, setPaused] = useState(true);
  const [tried, setTried] = useState(false);
  const [busy, setBusy] = useState(false);
  const [bag, setBag] = useState<string | null>(null);
  const inputs = useRef<Partial<Record<keyof OutlineText, Input | null>>>({});

  const outline = useMemo(() => parseOutline({ steps, bags, serves }), [steps, bags, serves]);
  // Offered, never put in unasked: what came of it stands in the preview.
  const guess = useMemo(() => (serves.trim() ? [] : guessServes(outline)), [outline, serves]);
  useEffect(() => {
    setPaused(false);
    const timer = setTimeout(() => setPaused(true), PAUSE_MS);
    return () => clearTimeout(timer);
  }, [steps, bags, serves]);

  const typed: Record<keyof OutlineText, string> = { steps, bags, serves };
  const slips = (field: keyof OutlineText) => {
    const errors = outline.errors.filter((error) => error.field === field);
    if (errors.length === 0 || !(paused || tried)) return null;
    return <Slips errors={errors} typed={typed[field]} input={inputs.current[field] ?? null} />;
  };
  const noSteps = tried && outline.steps.length === 0 && !steps.trim();

  const make = async () => {
    setTried(true);
    const wrong = outline.errors[0];
    if (wrong || outline.steps.length === 0) {
      inputs.current[wrong?.field ?? "steps"]?.focus();
      return;
    }
    if (!session || busy) return;
    setBusy(true);
    let made: MadeKit;
    try {
      made = kitFromOutline(outline, {
        name: name.trim() || text.nameDefault,
        workshop: session.workshop.id,
        nowMs: Date.now(),
        newId: () => randomId(crypto.getRandomValues(new Uint8Array(16))),
        draw: () => crypto.getRandomValues(new Uint32Array(1))[0] ?? 0,
        taken: new Set(store.all("bag").map((one) => one.values.code ?? "")),
      });
      await store.write(made.drafts, { together: true });
    } catch {
      sayTrouble(words.shared.notSaved);
      setBusy(false);
      return;
    }
    for (const drop of [dropName, dropSteps, dropBags, dropServes]) drop();
    // It is kept, whether or not it can be read back at once.
    await store.load(made.kit).catch(() => undefined);
    route(outline.bags.length > 0 ? to.labels(made.kit) : to.path(made.build));
    say(text.created(name.trim() || text.nameDefault), async () => {
      await takeBack(store, made.drafts);
      route(to.builds());
    });
  };

  return (
    <>
      {!session && (
        <Notice sign="cut">
          <p>{text.notPaired}</p>
        </Notice>
      )}
      <Field
        label={text.steps}
        hint={
          <>
            <Hint help={text.stepsHint} example={text.stepsExample} />{" "}
            <span class="code">{text.stepsTitled}</span>
          </>
        }
        value={steps}
        onInput={setSteps}
        lines={2}
        code
        error={slips("steps") ?? (noSteps ? text.needSteps : null)}
        inputRef={(element) => (inputs.current.steps = element)}
      />
      <Field
        label={text.bags}
        hint={<Hint help={text.bagsHint} example={text.bagsExample} />}
        value={bags}
        onInput={setBags}
        code
        error={slips("bags")}
        inputRef={(element) => (inputs.current.bags = element)}
      />
      <Field
        label={text.name}
        hint={text.nameHint}
        value={name}
        onInput={setName}
        maxLength={120}
      />
      <details open={opened}>
        <summary>{text.serves}</summary>
        <Field
          label={text.serves}
          hint={text.servesHint}
          value={serves}
          onInput={setServes}
          lines={4}
          code
          error={slips("serves")}
          inputRef={(element) => (inputs.current.serves = element)}
        />
      </details>
      {guess.length > 0 && (
        <Row>
          <QuietButton
            onTap={() =>
              setServes(guess.map((one) => `bag ${one.bag}: ${asRanges(one.steps)}`).join("\n"))
            }
          >
            {text.guess}
          </QuietButton>
        </Row>
      )}
      <Preview outline={outline} onBag={setBag} />
      <Sheet open={bag !== null} title={text.tapTitle(bag ?? "")} onClose={() => setBag(null)}>
        {bag !== null && (
          <BagSteps
            outline={outline}
            bag={bag}
            onChange={(chosen) => setServes(withBagLine(serves, bag, chosen))}
          />
        )}
      </Sheet>
      <Reach>
        <BigButton onTap={() => void make()} busy={busy} off={!session}>
          {text.create}
        </BigButton>
      </Reach>
    </>
  );
}

function Hint({ help, example }: { help: string; example: string }) {
  return (
    <>
      {help} <span class="code">{example}</span>
    </>
  );
}
