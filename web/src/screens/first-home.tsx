import { useState } from 'preact/hooks';
import { call } from '../api/client.ts';
import { Field, SaveForm, textOf } from '../parts/form.tsx';
import { ExampleOffer } from '../settling/example.tsx';
import { SectionFields, sectionOf } from '../settling/section-fields.tsx';
import { usualSection } from '../settling/usual-section.ts';
import { settlingWords } from '../words/settling.ts';

const slugOf = (name: string): string =>
  name
    .normalize('NFD')
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, '-')
    .replace(/^-+|-+$/g, '')
    .slice(0, 40)
    .replace(/-+$/, '');

/** What a program without any home shows: one form, and an example to try. */
export function FirstHome(props: { added: (slug: string) => void }) {
  const [slug, setSlug] = useState('');
  const t = settlingWords.first;
  return (
    <>
      <h1>{t.title}</h1>
      <p class="lead">{t.lead}</p>
      <SaveForm
        submit={t.add}
        send={async (fields) => {
          const own = textOf(fields, 'slug');
          await call('addDwelling', {
            body: { name: textOf(fields, 'name'), slug: own, zone: textOf(fields, 'zone'), section: sectionOf(fields) },
          });
          props.added(own);
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
              onInput={(event) => setSlug(slugOf(event.currentTarget.value) || 'home')}
            />
          )}
        </Field>
        <details>
          <summary>{t.slugMore}</summary>
          <Field label={t.slug} hint={t.slugHint}>
            {(ids) => (
              <input
                {...ids}
                name="slug"
                required
                value={slug}
                pattern="[a-z0-9]([a-z0-9\-]{0,38}[a-z0-9])?"
                autocomplete="off"
                onInput={(event) => setSlug(event.currentTarget.value)}
              />
            )}
          </Field>
          <Field label={t.zone} hint={t.zoneHint}>
            {(ids) => <input {...ids} name="zone" required defaultValue={ownZone()} />}
          </Field>
        </details>
        <h2>{t.section}</h2>
        <p>{t.sectionLead}</p>
        <SectionFields section={usualSection} />
      </SaveForm>
      <ExampleOffer />
    </>
  );
}

const ownZone = (): string => Intl.DateTimeFormat().resolvedOptions().timeZone;
