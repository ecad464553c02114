import { useEffect, useState } from 'preact/hooks';
import { nightHours } from '../../../server/api/contract/nights.ts';
import { RISK_HUMIDITY } from '../../../server/physics/hours-over.ts';
import { TIMBER_MOISTURE_LIMIT } from '../../../server/physics/timber.ts';
import { isOwner } from '../access/door.ts';
import { Owners } from '../access/owners.tsx';
import { withDwelling } from '../address.ts';
import { call } from '../api/client.ts';
import { revisions } from '../api/live.ts';
import { useHome } from '../home.ts';
import { forgetKept } from '../offline/kept.ts';
import { isKept } from '../offline/register.ts';
import { Field, SaveForm, textOf } from '../parts/form.tsx';
import { Sharing } from '../portfolio/sharing.tsx';
import { choices, type Preferences, prefer, preferences } from '../preferences.ts';
import { Backups } from '../settling/backups.tsx';
import { ExampleOffer } from '../settling/example.tsx';
import { SectionFields, sectionOf } from '../settling/section-fields.tsx';
import { digits, quantity, when } from '../words/format.ts';
import { settingsWords as t } from '../words/settings.ts';
import { languageOf, readerTag } from '../words/spoken.ts';
import { words } from '../words/words.ts';
import '../style/settling.css';

/** What the reader and the home have chosen. */
export function SettingsScreen() {
  const home = useHome();
  return (
    <>
      <h1>{words.screens.settings}</h1>
      <p class="lead">{t.lead}</p>
      <p class="no-print">
        <a href={withDwelling('/settings/people')}>{words.screens.people}</a>
      </p>
      <Yours />
      <HomeSettings key={`home ${home.slug}`} />
      <SectionSettings key={`section ${home.slug}`} />
      <Limits />
      <Sharing key={`sharing ${home.slug}`} />
      {isOwner() && <Backups />}
      <Kept />
      <ExampleOffer />
    </>
  );
}

/** The words of a page are those it was loaded with: another language loads it again. */
function choose(change: Partial<Preferences>): void {
  const before = document.documentElement.lang;
  prefer(change);
  const tag = readerTag(preferences.value.language);
  document.documentElement.lang = tag;
  if (languageOf(tag) !== languageOf(before)) location.reload();
}

function Yours() {
  const home = useHome();
  const [now] = useState(() => Date.now());
  return (
    <section class="no-print">
      <h2>{t.yours}</h2>
      <div class="field-row">
        {(Object.keys(choices) as (keyof Preferences)[]).map((key) => (
          <Field key={key} label={t.labels[key]}>
            {(ids) => (
              <select
                {...ids}
                value={preferences.value[key]}
                onChange={(event) => choose({ [key]: event.currentTarget.value })}
              >
                {choices[key].map((choice) => (
                  <option key={choice} value={choice}>
                    {(t.options[key] as Readonly<Record<string, string>>)[choice]}
                  </option>
                ))}
              </select>
            )}
          </Field>
        ))}
      </div>
      <p role="status">
        {t.sample(
          quantity(16.4, '°C', digits.temperature),
          quantity(3.2, 'K', digits.kelvin),
          when(home.zone, now, 'full'),
        )}
      </p>
      <p class="small">{t.temperatureNote}</p>
    </section>
  );
}

function HomeSettings() {
  const home = useHome();
  const [said, say] = useState('');
  return (
    <section>
      <h2>{t.home}</h2>
      <Owners>
        <SaveForm
          submit={words.save}
          paper="printed"
          send={async (fields) => {
            const body = { name: textOf(fields, 'name'), zone: textOf(fields, 'zone') };
            say('');
            await call('changeDwelling', { params: { dwelling: home.slug }, body });
            revisions.story.value += 1;
            say(words.saved);
          }}
        >
          <Field label={t.name}>
            {(ids) => <input {...ids} name="name" required maxLength={80} defaultValue={home.name} />}
          </Field>
          <Field label={t.zone} hint={t.zoneHint}>
            {(ids) => <input {...ids} name="zone" required defaultValue={home.zone} />}
          </Field>
          <p class="small">
            {t.slug}: <code>{home.slug}</code>. {t.slugFixed}
          </p>
        </SaveForm>
      </Owners>
      <p role="status">{said}</p>
    </section>
  );
}

function SectionSettings() {
  const home = useHome();
  const [said, say] = useState('');
  useEffect(() => {
    if (location.hash === '#section') document.getElementById('section')?.scrollIntoView();
  }, []);
  return (
    <section id="section">
      <h2>{t.section}</h2>
      <p>{t.sectionLead}</p>
      <Owners>
        <SaveForm
          submit={words.save}
          paper="printed"
          send={async (fields) => {
            say('');
            await call('changeDwelling', { params: { dwelling: home.slug }, body: { section: sectionOf(fields) } });
            revisions.story.value += 1;
            say(t.sectionSaved);
          }}
        >
          <SectionFields section={home.section} />
        </SaveForm>
      </Owners>
      <p role="status">{said}</p>
    </section>
  );
}

const limitsInUse = (): readonly { what: string; limit: string; source: string }[] => [
  {
    ...t.limitRows.risk,
    limit: t.limitRows.risk.limit(quantity(RISK_HUMIDITY, '%', 0), quantity(0, '°C', 0)),
  },
  { ...t.limitRows.condensation, limit: t.limitRows.condensation.limit(quantity(0, 'K', 0)) },
  { ...t.limitRows.timber, limit: t.limitRows.timber.limit(quantity(TIMBER_MOISTURE_LIMIT, '%', 0)) },
  { ...t.limitRows.night, limit: t.limitRows.night.limit(fullHour(nightHours.from), fullHour(nightHours.to)) },
];

const fullHour = (hour: number): string => `${String(hour).padStart(2, '0')}:00`;

function Limits() {
  return (
    <section>
      <h2>{t.limits}</h2>
      <p>{t.limitsLead}</p>
      <table class="folds">
        <caption class="unseen">{t.limits}</caption>
        <thead>
          <tr>
            {Object.values(t.limitColumns).map((column) => (
              <th key={column} scope="col">
                {column}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {limitsInUse().map(({ what, limit, source }) => (
            <tr key={what}>
              <th scope="row">{what}</th>
              <td data-label={t.limitColumns.limit}>{limit}</td>
              <td data-label={t.limitColumns.source}>{source}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}

function Kept() {
  const [said, say] = useState('');
  return (
    <section class="no-print">
      <h2>{t.offline}</h2>
      <p>{isKept.value ? t.offlineReady : t.offlineNot}</p>
      {isKept.value && (
        <div class="buttons">
          <button
            type="button"
            onClick={() => {
              void forgetKept().then(() => say(t.forgot));
            }}
          >
            {t.forget}
          </button>
        </div>
      )}
      <p role="status">{said}</p>
    </section>
  );
}
