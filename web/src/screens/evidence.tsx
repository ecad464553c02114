import { useEffect, useState } from 'preact/hooks';
import type { Pack, PackPreview, PackWanted } from '../../../server/api/contract/packs.ts';
import { isLandlord } from '../access/door.ts';
import { withDwelling } from '../address.ts';
import { addressOf, CallFailed, call } from '../api/client.ts';
import { revisions } from '../api/live.ts';
import { useLoad } from '../api/load.ts';
import { useHome } from '../home.ts';
import { Field } from '../parts/form.tsx';
import { Empty, failureWords, Show } from '../parts/notice.tsx';
import { fromInput, toInput } from '../time/zone.ts';
import { evidenceWords as t } from '../words/evidence.ts';
import { number, quantity } from '../words/format.ts';
import { PlainExports } from './plain-exports.tsx';
import { ShareLinks } from './share-links.tsx';
import '../style/evidence.css';
import { said as told } from '../words/say.ts';
import { words as pageWords } from '../words/words.ts';

const DAY_MS = 86_400_000;
const ASK_EVERY_MS = 700;

/** Makes a pack of readings and figures for somebody who wants to check them. */
export function EvidenceScreen() {
  const home = useHome();
  const params = { dwelling: home.slug };
  const { loaded, again } = useLoad(`evidence ${home.slug}`, revisions.story.value, async (signal) => {
    const [places, phases] = await Promise.all([
      call('listPlaces', { params }, signal),
      call('listPhases', { params }, signal),
    ]);
    return { places, phases };
  });
  return (
    <>
      <h1>{t.title}</h1>
      <p class="lead">{t.lead}</p>
      <p class="notice tone-watch">{t.caution}</p>
      <Show loaded={loaded} again={again} room="screen">
        {({ places, phases }) => {
          if (places.length === 0)
            return (
              <Empty
                title={t.noPlaces}
                next={
                  <a class="no-print" href={withDwelling('/sensors')}>
                    {pageWords.section.noPlacesNext}
                  </a>
                }
              />
            );
          const began = phases.map(({ from }) => Date.parse(from)).sort((a, b) => a - b)[0];
          return <Choice places={places} from={began ?? Date.now() - 365 * DAY_MS} />;
        }}
      </Show>
    </>
  );
}

function Choice(props: { places: readonly { readonly id: number; readonly name: string }[]; from: number }) {
  const home = useHome();
  const [from, setFrom] = useState(toInput(home.zone, props.from));
  const [to, setTo] = useState(toInput(home.zone, Date.now()));
  const [only, setOnly] = useState<readonly number[] | null>(null);
  const [words, setWords] = useState<PackWanted['words']>(isLandlord() ? 'without-words' : 'with-words');
  const [report, setReport] = useState<NonNullable<PackWanted['report']>>('works');
  const [paper, setPaper] = useState<NonNullable<PackWanted['paper']>>('A4');
  const start = from === '' ? null : fromInput(home.zone, from);
  const end = to === '' ? null : fromInput(home.zone, to);
  const wanted: PackWanted | null =
    start === null || end === null || only?.length === 0
      ? null
      : { from: start, to: end, places: only && [...only], words, report, paper };
  return (
    <>
      <form class="save-form" onSubmit={(event) => event.preventDefault()}>
        <div class="pack-span">
          <Field label={t.from}>
            {(ids) => (
              <input
                {...ids}
                type="datetime-local"
                value={from}
                onInput={(event) => setFrom(event.currentTarget.value)}
              />
            )}
          </Field>
          <Field label={t.to}>
            {(ids) => (
              <input {...ids} type="datetime-local" value={to} onInput={(event) => setTo(event.currentTarget.value)} />
            )}
          </Field>
        </div>
        <fieldset>
          <legend>{t.report}</legend>
          {(['works', 'cause', 'season'] as const).map((kind) => (
            <Radio
              key={kind}
              name="pack-report"
              label={t.reportKinds[kind]}
              checked={report === kind}
              choose={() => setReport(kind)}
            />
          ))}
        </fieldset>
        <fieldset>
          <legend>{t.paper}</legend>
          {(['A4', 'Letter'] as const).map((size) => (
            <Radio
              key={size}
              name="pack-paper"
              label={t.paperSizes[size]}
              checked={paper === size}
              choose={() => setPaper(size)}
            />
          ))}
        </fieldset>
        <fieldset>
          <legend>{t.places}</legend>
          <Radio name="pack-places" label={t.everything} checked={only === null} choose={() => setOnly(null)} />
          <Radio name="pack-places" label={t.some} checked={only !== null} choose={() => setOnly(only ?? [])} />
          {only !== null && (
            <>
              <p class="hint">{t.placesHint}</p>
              {props.places.map(({ id, name }) => (
                <label key={id} class="pack-choice">
                  <input
                    type="checkbox"
                    checked={only.includes(id)}
                    onChange={(event) =>
                      setOnly(event.currentTarget.checked ? [...only, id] : only.filter((other) => other !== id))
                    }
                  />
                  {name}
                </label>
              ))}
            </>
          )}
        </fieldset>
        {/* names, notes and photos are the household's alone */}
        {!isLandlord() && (
          <fieldset>
            <legend>{t.words}</legend>
            <Radio
              name="pack-words"
              label={t.withWords}
              checked={words === 'with-words'}
              choose={() => setWords('with-words')}
            />
            <Radio
              name="pack-words"
              label={t.withoutWords}
              checked={words === 'without-words'}
              choose={() => setWords('without-words')}
            />
          </fieldset>
        )}
      </form>
      {wanted === null ? <p>{t.notChosen}</p> : <Preview wanted={wanted} />}
      <PlainExports from={start} to={end} />
    </>
  );
}

function Radio(props: { name: string; label: string; checked: boolean; choose: () => void }) {
  return (
    <label class="pack-choice">
      <input type="radio" name={props.name} checked={props.checked} onChange={props.choose} />
      {props.label}
    </label>
  );
}

const megabytes = (bytes: number): string =>
  bytes < 100_000 ? quantity(bytes / 1000, 'kB', 0) : quantity(bytes / 1_000_000, 'MB', 1);

function Preview(props: { wanted: PackWanted }) {
  const home = useHome();
  const { loaded, again } = useLoad(`pack ${home.slug} ${JSON.stringify(props.wanted)}`, 0, (signal) =>
    call('previewPack', { params: { dwelling: home.slug }, body: props.wanted }, signal),
  );
  return (
    <>
      <h2>{t.inside}</h2>
      <Show loaded={loaded} again={again} room="screen">
        {(preview) => (
          <>
            <Inside preview={preview} />
            <Making wanted={props.wanted} />
          </>
        )}
      </Show>
    </>
  );
}

function Inside({ preview }: { preview: PackPreview }) {
  const { places, sealed } = preview;
  return (
    <>
      <table class="folds">
        <thead>
          <tr>
            <th scope="col">{t.place}</th>
            <th scope="col">{t.known}</th>
          </tr>
        </thead>
        <tbody>
          {places.map(({ placeId, name, chosen, knownHours, hours }) => (
            <tr key={placeId}>
              <th scope="row">
                {name}
                {!chosen && <span class="small"> · {t.comesAlong}</span>}
              </th>
              <td data-label={t.known}>
                {t.knownOf(quantity((100 * knownHours) / hours, '%', 0), number(knownHours), number(hours))}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
      <p>
        {t.counts(preview.notes, preview.photos, preview.calibrations)}. {t.size(megabytes(preview.bytes))}
      </p>
      <p>{sealed === null ? t.notSealed : t.sealed(sealed.first, sealed.last, sealed.days)}</p>
      <p class="small">{t.proof}</p>
      <p>
        {t.key}
        <br />
        <code class="fingerprint">{preview.fingerprint}</code>
      </p>
    </>
  );
}

function Making(props: { wanted: PackWanted }) {
  const { slug } = useHome();
  const [pack, setPack] = useState<Pack | null>(null);
  const [said, say] = useState<string | null>(null);
  const failed = (reason: unknown): void => {
    if (!(reason instanceof CallFailed)) throw reason;
    setPack(null);
    say(t.failed(failureWords(reason.failure)));
  };
  useEffect(() => {
    if (pack?.state !== 'making') return;
    const timer = setTimeout(() => {
      call('getPack', { params: { dwelling: slug, id: pack.id } }).then(setPack, failed);
    }, ASK_EVERY_MS);
    return () => clearTimeout(timer);
  }, [pack]);
  const begin = () => {
    say(null);
    call('makePack', { params: { dwelling: slug }, body: props.wanted }).then(setPack, failed);
  };
  const stop = (id: string) => {
    setPack(null);
    call('removePack', { params: { dwelling: slug, id } }).then(() => say(t.stopped), failed);
  };
  return (
    <>
      {pack?.state === 'making' && pack.step !== null && (
        <div class="pack-progress">
          <label>
            {t.making}: {t.steps[pack.step]} <progress max={1} value={pack.share} />
          </label>
          <button type="button" onClick={() => stop(pack.id)}>
            {t.stop}
          </button>
        </div>
      )}
      {pack?.state === 'ready' && pack.bytes !== null && (
        <p class="notice" role="status">
          {t.ready(megabytes(pack.bytes))}{' '}
          <a class="no-print" href={addressOf('downloadPack', { dwelling: slug, id: pack.id })} download={pack.file}>
            {t.download}
          </a>
        </p>
      )}
      {(said !== null || pack?.state === 'failed') && (
        <p class="notice" role="alert">
          {said ?? t.failed(told.term(pack?.problem ?? ''))}
        </p>
      )}
      {pack?.state !== 'making' && (
        <div class="buttons">
          <button type="button" class="main" onClick={begin}>
            {t.make}
          </button>
        </div>
      )}
      <p class="small">{t.howToCheck}</p>
      <ShareLinks pack={pack?.state === 'ready' ? pack.id : null} />
    </>
  );
}
