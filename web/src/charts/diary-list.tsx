import { chartWords as t } from '../words/charts.ts';
import { when } from '../words/format.ts';
import { diaryKind } from '../words/words.ts';
import type { NumberedEntry } from './marks.ts';

/** Diary entries by the numbers that stand for them on the charts above. */
export function DiaryList(props: { diary: readonly NumberedEntry[]; heading: 'h2' | 'h3'; zone: string }) {
  const Heading = props.heading;
  if (props.diary.length === 0) return null;
  return (
    <>
      <Heading class="chart-title">{t.diaryHere}</Heading>
      <ol class="small">
        {props.diary.map(({ entry, at, number }) => (
          <li key={entry.id} value={number}>
            {when(props.zone, at, 'full')}, {diaryKind(entry.kind)}: {entry.text}
          </li>
        ))}
      </ol>
    </>
  );
}
