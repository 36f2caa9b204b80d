/** What has been read of a manual so far: its pages in a row that grows. */
import { useEffect, useLayoutEffect, useRef, useState } from "preact/hooks";
import { pagesDue, type Intake, type ManualPage } from "../../core/intakes";
import type { Intakes } from "../../sync/types";
import { Mark, Picture } from "../../ui/parts";
import { intakeWords } from "../../ui/words-intake";

const text = intakeWords.manual;
/** An A4 page, for one whose size is not known. */
const RATIO = 210 / 297;

export function PagesSoFar({ intakes, intake }: { intakes: Intakes; intake: Intake }) {
  const [pages, setPages] = useState<readonly ManualPage[]>([]);
  const row = useRef<HTMLDivElement>(null);
  /** Whether the newest page is in sight: then it stays there. */
  const follows = useRef(true);
  const due = pagesDue(intake.done, pages.length);
  useEffect(() => {
    if (!due) return;
    let gone = false;
    void intakes.pages(intake.id).then((answer) => {
      if (!gone && answer.kind === "ok") setPages(answer.value);
    });
    return () => {
      gone = true;
    };
  }, [intakes, intake.id, intake.done, due]);
  useLayoutEffect(() => {
    const pane = row.current;
    if (pane && follows.current) pane.scrollLeft = pane.scrollWidth;
  }, [pages.length]);
  return (
    <div
      class="so-far"
      ref={row}
      tabIndex={0}
      role="region"
      aria-label={text.soFar}
      onScroll={({ currentTarget: pane }) => {
        follows.current = pane.scrollLeft + pane.clientWidth > pane.scrollWidth - 8;
      }}
    >
      <ul role="list">
        {pages.map((page) => {
          const ratio = page.widthPx && page.heightPx ? page.widthPx / page.heightPx : RATIO;
          return (
            <li key={page.number} style={{ aspectRatio: String(ratio) }}>
              {page.blob === null ? (
                <span role="img" aria-label={text.pageOption(page.number, 0, 0, true)}>
                  <Mark sign="caution" />
                </span>
              ) : (
                <Picture blob={page.blob} size="thumb" alt={text.alt(page.number)} stored ratio={ratio} />
              )}
            </li>
          );
        })}
      </ul>
    </div>
  );
}
