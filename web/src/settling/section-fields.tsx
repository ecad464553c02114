import { useState } from 'preact/hooks';
import type { Section } from '../../../server/api/contract/dwelling.ts';
import { Building, describe, drawNarrow, narrowSheet } from '../drawing/section-drawing.tsx';
import { Field } from '../parts/form.tsx';
import { settlingWords } from '../words/settling.ts';
import { words } from '../words/words.ts';
import '../style/settling.css';

/** What the program takes, as the API's contract has it. */
const limits: Readonly<Record<keyof Section, readonly [least: number, most: number]>> = {
  pitchDeg: [5, 85],
  slopeLengthMm: [200, 10_000],
  roomHeightMm: [1500, 6000],
  liningThicknessMm: [0, 400],
  loftInsulationMm: [0, 1000],
  eavesGapMm: [0, 500],
};
const keys = Object.keys(limits) as (keyof Section)[];

export const sectionOf = (fields: FormData): Section =>
  Object.fromEntries(keys.map((key) => [key, Number(fields.get(key))])) as unknown as Section;

/** The measures of the section, each with what it means, and the drawing that follows them as they are typed. */
export function SectionFields(props: { section: Section }) {
  const [section, setSection] = useState(props.section);
  const change = (key: keyof Section, text: string): void => {
    const value = Number(text);
    const [least, most] = limits[key];
    // half typed: the drawing waits
    if (text !== '' && value >= least && value <= most) setSection((last) => ({ ...last, [key]: value }));
  };
  return (
    <div class="section-fields">
      <div>
        {keys.map((key) => {
          const [label, unit] = words.section.fields[key];
          return (
            <Field key={key} label={`${label}, ${unit}`} hint={settlingWords.measures[key]}>
              {(ids) => (
                <input
                  {...ids}
                  name={key}
                  type="number"
                  inputMode="decimal"
                  step="any"
                  min={limits[key][0]}
                  max={limits[key][1]}
                  required
                  defaultValue={String(props.section[key])}
                  onInput={(event) => change(key, event.currentTarget.value)}
                />
              )}
            </Field>
          );
        })}
      </div>
      <figure class="section-preview">
        <svg viewBox={`0 0 ${narrowSheet.width} ${narrowSheet.height}`} role="img" aria-label={describe(section)}>
          <Building geometry={drawNarrow(section, [])} section={section} id="draft" dimensions="left-out" />
        </svg>
        <figcaption class="small">{settlingWords.preview}</figcaption>
      </figure>
    </div>
  );
}
