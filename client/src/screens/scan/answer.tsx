/** What a code came to, in plain words, with the next thing to do last: there the thumb is. */
import type { ComponentChildren } from "preact";
import { useState } from "preact/hooks";
import { inClear } from "../../core/codes";
import { barcodeInClear, type Barcode } from "../../core/gtin";
import { to } from "../../routes";
import type { Answer, BagAhead, FoundBag, InBuild, ServedStep } from "../../scan/resolve";
import type { TypedSlip } from "../../scan/typed";
import type { View } from "../../sync/types";
import { BigButton, QuietButton, Tag, TagList } from "../../ui/parts";
import { codesWords } from "../../ui/words-codes";
import { scanWords } from "../../ui/words-scan";

const text = scanWords;

export interface AnswerProps {
  answer: Answer;
  /** A bag was chosen among several. */
  onBag: (bag: View<"bag">) => void;
  /** The barcode is to be taught to a bag; where that cannot be, it is only shown. */
  onTeach?: ((barcode: Barcode) => void) | undefined;
  /** Ask the server, then look again. */
  onAskAgain: () => Promise<void>;
}

export function bagName({ bag, kitName }: FoundBag): string {
  return text.bagName(bag.values.number ?? "", kitName);
}

export function stepName(step: View<"step">): string {
  return [step.values.number, step.values.title].filter(Boolean).join(" ");
}

/** Heading of the answer. */
export function titleOf(answer: Answer): string {
  switch (answer.kind) {
    case "step":
    case "steps":
    case "noSteps":
    case "noBuild":
      return bagName(answer);
    case "bags":
      return text.twoBags(inClear(answer.code));
    case "unknown":
      return text.unknownTitle(inClear(answer.code));
    case "otherWorkshop":
      return text.otherWorkshopTitle(inClear(answer.code));
    case "barcodeBags":
      return codesWords.severalTitle(answer.bags.length);
    case "foreign":
      return isLinear(answer.barcode) ? codesWords.newTitle : text.foreignTitle;
    case "damaged":
      return text.damagedTitle;
  }
}

/** What is wrong with a typed code, and where. */
export function slipText(slip: TypedSlip): string {
  switch (slip.reason) {
    case "character":
      return text.slipCharacter(slip.character, slip.at);
    case "length":
      return text.slipLength(slip.has, slip.needs);
    case "check":
      return text.slipCheck;
    case "digits":
      return codesWords.slipDigits(slip.has);
    case "gtin":
      return codesWords.slipGtin;
  }
}

function StepTags({ inBuild, next }: { inBuild: InBuild; next: ServedStep | null }) {
  return (
    <TagList label={text.otherSteps} ordered>
      {inBuild.steps
        .filter((each) => each !== next)
        .map(({ step, state }) => (
          <Tag
            key={step.id}
            href={to.step(inBuild.build.id, step.id)}
            number={step.values.number ?? ""}
            title={step.values.title || text.stepName(step.values.number ?? "")}
            worn={state === "done" || state === "left_out"}
            state={state}
          />
        ))}
    </TagList>
  );
}

/** Several steps or builds: the one that is likely meant as the big button, the others above it. */
function Steps({ answer }: { answer: Extract<Answer, { kind: "steps" }> }) {
  const { bag, inBuild, others } = answer;
  const { next, build } = inBuild;
  const more = inBuild.steps.length > (next ? 1 : 0);
  return (
    <>
      <p>
        {next ? text.servesSteps(inBuild.steps.length) : text.allDone}{" "}
        {others.length > 0 && text.inBuild(build.values.name ?? "")}
      </p>
      {more && <StepTags inBuild={inBuild} next={next} />}
      {others.length > 0 && (
        <TagList label={text.otherBuilds}>
          {others.map((other) => (
            <Tag
              key={other.build.id}
              href={
                other.next
                  ? to.step(other.build.id, other.next.step.id)
                  : to.bag(other.build.id, bag.id)
              }
              title={other.build.values.name ?? ""}
              note={other.next ? stepName(other.next.step) : text.allDone}
            />
          ))}
        </TagList>
      )}
      <div class="answer-reach">
        <QuietButton href={to.bag(build.id, bag.id)}>{text.openBag}</QuietButton>
        {next && (
          <BigButton href={to.step(build.id, next.step.id)}>
            {text.goOn(stepName(next.step))}
          </BigButton>
        )}
      </div>
    </>
  );
}

function BagTags({ bags, onBag }: { bags: readonly FoundBag[]; onBag: AnswerProps["onBag"] }) {
  return (
    <TagList>
      {bags.map(({ bag, kitName }) => (
        <Tag
          key={bag.id}
          onTap={() => onBag(bag)}
          number={bag.values.number ?? ""}
          title={bag.values.title || text.bagName(bag.values.number ?? "", "")}
          note={kitName}
        />
      ))}
    </TagList>
  );
}

/** Bars under glass or digits typed: what a maker prints. A QR code may be anybody's. */
const isLinear = (barcode: Barcode | null): boolean => !!barcode && barcode.symbology !== "qr";

/** Several bags with one barcode: the one that is needed next is under the thumb. */
function BarcodeBags({ bags, onBag }: { bags: readonly BagAhead[]; onBag: AnswerProps["onBag"] }) {
  const [first, ...others] = bags;
  return (
    <>
      <p>{codesWords.severalWhy}</p>
      <TagList>
        {others.map(({ bag, kitName, next }) => (
          <Tag
            key={bag.id}
            onTap={() => onBag(bag)}
            number={bag.values.number ?? ""}
            title={bag.values.title || text.bagName(bag.values.number ?? "", "")}
            note={[kitName, next ? codesWords.stepNext(stepName(next.step)) : codesWords.nothingOpen]
              .filter(Boolean)
              .join(" · ")}
          />
        ))}
      </TagList>
      {first && (
        <div class="answer-reach">
          <BigButton onTap={() => onBag(first.bag)}>
            {codesWords.openNext(bagName(first), first.next && stepName(first.next.step))}
          </BigButton>
        </div>
      )}
    </>
  );
}

/** What is no label and no bag's barcode: shown, never opened; taught if it can be. */
function Foreign(props: {
  answer: Extract<Answer, { kind: "foreign" }>;
  onTeach: AnswerProps["onTeach"];
}) {
  const { onTeach } = props;
  const { barcode, text: says } = props.answer;
  const shown = barcode ? barcodeInClear(barcode) : says;
  return (
    <>
      <p>
        {barcode && isLinear(barcode)
          ? codesWords.newBarcode(barcode.symbology)
          : text.foreign}
      </p>
      {shown !== "" && <p class="foreign-text">{shown.slice(0, 200)}</p>}
      {barcode && onTeach && (
        <div class="answer-reach">
          <BigButton onTap={() => onTeach(barcode)}>{codesWords.teachIt}</BigButton>
        </div>
      )}
      {!barcode && shown !== "" && <p>{codesWords.tooMuch}</p>}
    </>
  );
}

function AskAgain({ onAskAgain }: Pick<AnswerProps, "onAskAgain">) {
  const [busy, setBusy] = useState(false);
  return (
    <BigButton
      busy={busy}
      onTap={() => {
        setBusy(true);
        void onAskAgain().finally(() => setBusy(false));
      }}
    >
      {text.askServer}
    </BigButton>
  );
}

/** The answer's body; its heading is {@link titleOf}. */
export function AnswerBody({ answer, onBag, onTeach, onAskAgain }: AnswerProps): ComponentChildren {
  switch (answer.kind) {
    case "step":
      return (
        <BigButton href={to.step(answer.inBuild.build.id, answer.step.id)}>
          {text.goOn(stepName(answer.step))}
        </BigButton>
      );
    case "steps":
      return <Steps answer={answer} />;
    case "noSteps":
      return (
        <>
          <p>{text.noSteps}</p>
          {answer.builds.map((build) => (
            <BigButton key={build.id} href={to.bag(build.id, answer.bag.id)}>
              {text.openBagIn(build.values.name ?? "")}
            </BigButton>
          ))}
        </>
      );
    case "noBuild":
      return (
        <>
          <p>{text.noBuild(answer.kitName)}</p>
          <BigButton href={to.builds()}>{text.toBuilds}</BigButton>
        </>
      );
    case "bags":
      return (
        <>
          <p>{text.twoBagsWhy}</p>
          <BagTags bags={answer.bags} onBag={onBag} />
        </>
      );
    case "unknown":
      return (
        <>
          <p>{text.unknown}</p>
          <AskAgain onAskAgain={onAskAgain} />
        </>
      );
    case "otherWorkshop":
      return <p>{text.otherWorkshop}</p>;
    case "barcodeBags":
      return <BarcodeBags bags={answer.bags} onBag={onBag} />;
    case "foreign":
      return <Foreign answer={answer} onTeach={onTeach} />;
    case "damaged":
      return (
        <>
          <p>{slipText(answer.slip)}</p>
          {answer.meant.length > 0 && (
            <>
              <p>{text.meant}</p>
              <BagTags bags={answer.meant} onBag={onBag} />
            </>
          )}
        </>
      );
  }
}
