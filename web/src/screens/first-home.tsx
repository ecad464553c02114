import { useState } from 'preact/hooks';
import type { Section } from '../../../server/api/contract/dwelling.ts';
import { call } from '../api/client.ts';
import { Field, SaveForm, textOf } from '../parts/form.tsx';
import { words } from '../words/words.ts';

/** A common small house, to have something to correct. */
const usualSection: Section = {
  pitchDeg: 35,
  slopeLengthMm: 1200,
  roomHeightMm: 2400,
  liningThicknessMm: 0,
  loftInsulationMm: 270,
  eavesGapMm: 50,
};

const slugOf = (name: string): string =>
  name
    .normalize('NFD')
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, '-')
    .replace(/^-+|-+$/g, '')
    .slice(0, 40)
    .replace(/-+$/, '');

/** What a program without any home shows: one form. */
export function FirstHome(props: { added: () => void }) {
  const [slug, setSlug] = useState('');
  const t = words.firstHome;
  return (
    <>
      <h1>{t.title}</h1>
      <p class="lead">{t.lead}</p>
      <SaveForm
        submit={t.add}
        send={async (fields) => {
          await call('addDwelling', {
            body: {
              name: textOf(fields, 'name'),
              slug: textOf(fields, 'slug'),
              zone: textOf(fields, 'zone'),
              section: usualSection,
            },
          });
          props.added();
        }}
      >
        <Field label={t.name}>
          {(ids) => (
            <input
              {...ids}
              name="name"
              required
              maxLength={80}
              autocomplete="off"
              onInput={(event) => setSlug(slugOf(event.currentTarget.value))}
            />
          )}
        </Field>
        <Field label={t.slug} hint={t.slugHint}>
          {(ids) => (
            <input
              {...ids}
              name="slug"
              required
              value={slug}
              pattern="[a-z0-9]([a-z0-9\-]{0,38}[a-z0-9])?"
              autocomplete="off"
            />
          )}
        </Field>
        <Field label={t.zone} hint={t.zoneHint}>
          {(ids) => <input {...ids} name="zone" required value={Intl.DateTimeFormat().resolvedOptions().timeZone} />}
        </Field>
      </SaveForm>
    </>
  );
}
