/** Notes on a step or build: what is typed is kept at every key stroke. */
import { Clashes, Field, QuietButton, Row, moment, useBench, useOnce, words } from "../../ui/parts";
import { writeNote } from "./actions";
import { type Work, deviceName, useJotting } from "./work";

export function Notes({ work, step }: { work: Work; step: string }) {
  const bench = useBench();
  const jot = useJotting(`note/${work.build}/${step}`);
  const notes = bench.store
    .where("note", "step", step)
    .filter(({ values }) => values.build === work.build)
    .sort((a, b) => ((a.values.at ?? "") < (b.values.at ?? "") ? -1 : 1));
  const once = useOnce();
  const keep = () => {
    if (!jot.text.trim()) return;
    once(() =>
      work
        .save(writeNote(work.hand(), step, jot.text), { said: words.step.noteKept })
        .then((saved) => saved && jot.drop()),
    );
  };
  return (
    <section class="block" aria-labelledby="notes">
      <h2 id="notes">{words.step.notes}</h2>
      {notes.length > 0 && (
        <ul class="notes" role="list">
          {notes.map((note) => (
            <li key={note.id}>
              <p class="note-text">{note.values.text}</p>
              <Clashes view={note} labels={words.step.fields} />
              <Row>
                <span class="soft">
                  {words.step.tickedAt(
                    moment(note.values.at ?? ""),
                    deviceName(bench, note.values.device),
                  )}
                </span>
                <QuietButton onTap={() => void work.remove(note, words.step.noteDeleted)}>
                  {words.step.deleteNote}
                </QuietButton>
              </Row>
            </li>
          ))}
        </ul>
      )}
      <Field
        label={words.step.note}
        value={jot.text}
        lines={2}
        maxLength={4000}
        onInput={jot.set}
      />
      {jot.text.trim() && <QuietButton onTap={keep}>{words.step.addNote}</QuietButton>}
    </section>
  );
}
