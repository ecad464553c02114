import { useEffect, useState } from 'preact/hooks';
import type { HomeLine, PortfolioCondition, PortfolioGrouping } from '../../../server/api/contract/portfolio.ts';
import { isLandlord, isOwner } from '../access/door.ts';
import { choose, query } from '../address.ts';
import { type AnswerOf, addressOf, CallFailed, call } from '../api/client.ts';
import { useLoad } from '../api/load.ts';
import { kindTone } from '../comparing/verdict.tsx';
import { Field, textOf } from '../parts/form.tsx';
import { Empty, FailureNotice, Show } from '../parts/notice.tsx';
import { EditHome } from '../portfolio/edit-home.tsx';
import { Groups } from '../portfolio/groups.tsx';
import { Onboarding } from '../portfolio/onboarding.tsx';
import { comparingWords } from '../words/comparing.ts';
import { digits, estimate, number, quantity, when } from '../words/format.ts';
import { portfolioWords as t } from '../words/portfolio.ts';
import { Mine } from './people.tsx';
import '../style/portfolio.css';

type Answer = AnswerOf<'getPortfolio'>;
type Asked = Parameters<typeof call<'getPortfolio'>>[1]['query'];

const PAGE = 50;
const MINUTE_MS = 60_000;
const conditions = Object.keys(t.conditions) as PortfolioCondition[];
const groupings = Object.keys(t.countings) as PortfolioGrouping[];
const orders = Object.keys(t.orders) as (keyof typeof t.orders)[];

/** What the address asks for: it can be kept as a bookmark and gone back to. */
function askedFor(): NonNullable<Asked> {
  const given = query.value;
  const condition = conditions.find((one) => one === given.get('condition'));
  const group = Number(given.get('group'));
  const search = given.get('search');
  const area = given.get('area');
  const buildType = given.get('buildType');
  return {
    order: orders.find((one) => one === given.get('order')) ?? 'tonight',
    most: PAGE,
    ...(search ? { search } : {}),
    ...(condition ? { condition } : {}),
    ...(area === null ? {} : { area }),
    ...(buildType === null ? {} : { buildType }),
    ...(group > 0 ? { group } : {}),
  };
}

/** Many homes: a line each, what to look for among them, and counts by area or build type. */
export function PortfolioScreen() {
  const asked = askedFor();
  const key = JSON.stringify(asked);
  // lines are worked out anew in the background: the list asks again now and then
  const [minute, setMinute] = useState(0);
  useEffect(() => {
    const timer = setInterval(() => setMinute((n) => n + 1), MINUTE_MS);
    return () => clearInterval(timer);
  }, []);
  const { loaded, again } = useLoad(`portfolio ${key}`, minute, (signal) =>
    call('getPortfolio', { query: asked }, signal),
  );
  // homes can be put into new groups where they are listed and by a file
  const [grouped, setGrouped] = useState(0);
  const changed = () => {
    setGrouped((n) => n + 1);
    again();
  };
  // the filters stay on the screen while another list is on its way
  const [last, setLast] = useState<Answer | null>(null);
  useEffect(() => {
    if (loaded.kind === 'ready') setLast(loaded.value);
  }, [loaded]);
  const answer = loaded.kind === 'loading' ? last : (loaded.value ?? last);
  const isBare = answer !== null && answer.counts.homes === 0 && !isNarrowed(asked);
  return (
    <>
      <h1>{t.title}</h1>
      <p class="lead">{isLandlord() ? t.signedIn : t.lead}</p>
      {!isBare && <Filters asked={asked} answer={answer} />}
      <Show loaded={loaded} again={again} room="screen">
        {(value) => <Homes key={key} asked={asked} first={value} again={changed} />}
      </Show>
      {!isBare && <Counts asked={asked} />}
      {isOwner() && <Groups revision={grouped} changed={again} />}
      {isOwner() && <Onboarding added={changed} />}
      {isLandlord() && <Mine />}
    </>
  );
}

function Filters({ asked, answer }: { asked: NonNullable<Asked>; answer: Answer | null }) {
  const counts = answer?.counts ?? null;
  const choices = answer?.choices ?? { areas: [], buildTypes: [], groups: [] };
  const shown = (count: number | undefined) => (
    <span class="filter-count">{count === undefined ? '' : number(count)}</span>
  );
  return (
    <section class="filters" aria-label={t.filters}>
      <ul class="conditions">
        <li>
          <button
            type="button"
            aria-pressed={asked.condition === undefined}
            onClick={() => choose({ condition: null })}
          >
            {t.everything} {shown(counts?.homes)}
          </button>
        </li>
        {conditions.map((condition) => (
          <li key={condition}>
            <button
              type="button"
              aria-pressed={asked.condition === condition}
              onClick={() => choose({ condition: asked.condition === condition ? null : condition })}
            >
              {t.conditions[condition]} {shown(counts?.[condition])}
            </button>
          </li>
        ))}
      </ul>
      <form
        class="search-line"
        onSubmit={(event) => {
          event.preventDefault();
          choose({ search: textOf(new FormData(event.currentTarget), 'search') || null });
        }}
      >
        <Field label={t.search}>
          {(ids) => (
            <input {...ids} key={asked.search} type="search" name="search" maxLength={80} defaultValue={asked.search} />
          )}
        </Field>
        <button type="submit">{t.find}</button>
      </form>
      <div class="field-row filter-row">
        <Pick
          label={t.area}
          name="area"
          value={asked.area}
          options={[...choices.areas.map((area) => [area, area] as const), ['', t.notTold]]}
        />
        <Pick
          label={t.buildType}
          name="buildType"
          value={asked.buildType}
          options={[...choices.buildTypes.map((type) => [type, type] as const), ['', t.notTold]]}
        />
        {choices.groups.length > 0 && (
          <Pick
            label={t.group}
            name="group"
            value={asked.group === undefined ? undefined : String(asked.group)}
            options={choices.groups.map(({ id, name }) => [String(id), name] as const)}
          />
        )}
        <Field label={t.order}>
          {(ids) => (
            <select {...ids} value={asked.order} onChange={(event) => choose({ order: event.currentTarget.value })}>
              {orders.map((order) => (
                <option key={order} value={order}>
                  {t.orders[order]}
                </option>
              ))}
            </select>
          )}
        </Field>
      </div>
      {answer !== null && (
        <details>
          <summary>{t.meaning}</summary>
          <p class="small">{t.explained(quantity(answer.likelyChance * 100, '%', 0))}</p>
        </details>
      )}
    </section>
  );
}

/** Stands for "any" among options of which one may be empty. */
const ANY = '*';

function Pick(props: {
  label: string;
  name: string;
  value: string | undefined;
  options: readonly (readonly [value: string, words: string])[];
}) {
  return (
    <Field label={props.label}>
      {(ids) => (
        <select
          {...ids}
          value={props.value ?? ANY}
          onChange={({ currentTarget: { value } }) => choose({ [props.name]: value === ANY ? null : value })}
        >
          <option value={ANY}>{t.any}</option>
          {props.options.map(([value, words]) => (
            <option key={value} value={value}>
              {words}
            </option>
          ))}
        </select>
      )}
    </Field>
  );
}

const isNarrowed = ({ order, most, ...rest }: NonNullable<Asked>): boolean => Object.keys(rest).length > 0;

function Homes({ asked, first, again }: { asked: NonNullable<Asked>; first: Answer; again: () => void }) {
  const [more, setMore] = useState<readonly Answer[]>([]);
  const [failed, setFailed] = useState<CallFailed | null>(null);
  const [editing, setEditing] = useState<HomeLine | null>(null);
  const homes = [first, ...more].flatMap((page) => page.homes);
  const { next } = more.at(-1) ?? first;
  const all = asked.condition === undefined ? first.counts.homes : first.counts[asked.condition];
  const unshared = first.unshared > 0 && <p>{t.unshared(number(first.unshared), first.unshared)}</p>;
  if (homes.length === 0) {
    return (
      <>
        {isNarrowed(asked) ? (
          <Empty title={t.none.title} next={<ShowAll />} />
        ) : (
          <Empty title={t.none.noneAtAll} next={isLandlord() ? t.none.landlord : <FirstOne />} />
        )}
        {unshared}
      </>
    );
  }
  const nextPage = async () => {
    try {
      const page = await call('getPortfolio', { query: { ...asked, after: next ?? '' } });
      setFailed(null);
      setMore([...more, page]);
    } catch (reason) {
      if (!(reason instanceof CallFailed)) throw reason;
      setFailed(reason);
    }
  };
  const { order, most, ...filters } = asked;
  return (
    <>
      <p role="status">
        {t.found(number(all), all)}
        {homes.length < all && `, ${t.shown(number(homes.length), number(all))}`}
      </p>
      <table class="folds homes-table">
        <caption class="unseen">{t.title}</caption>
        <thead>
          <tr>
            {Object.values(t.columns).map((column) => (
              <th key={column} scope="col">
                {column}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {homes.map((home) => (
            <HomeRow key={home.slug} home={home} edit={() => setEditing(home)} likely={first.likelyChance} />
          ))}
        </tbody>
      </table>
      {failed && <FailureNotice failure={failed.failure} again={nextPage} />}
      <div class="buttons">
        {next !== null && (
          <button type="button" onClick={nextPage}>
            {t.more}
          </button>
        )}
        <a href={addressOf('exportPortfolio', {}, { ...filters, order })} download>
          {t.file}
        </a>
      </div>
      {unshared}
      {editing && (
        <EditHome
          home={editing}
          close={() => setEditing(null)}
          saved={() => {
            setEditing(null);
            setMore([]);
            again();
          }}
        />
      )}
    </>
  );
}

const FirstOne = () => (
  <>
    <a href="/">{t.none.owner}</a> {t.none.many}
  </>
);

const ShowAll = () => (
  <>
    {t.none.next}{' '}
    <button
      type="button"
      class="plain"
      onClick={() => choose({ search: null, condition: null, area: null, buildType: null, group: null })}
    >
      {t.clear}
    </button>
  </>
);

function HomeRow({ home, edit, likely }: { home: HomeLine; edit: () => void; likely: number }) {
  const what = [home.area, home.buildType].filter((part) => part !== null).join(', ');
  const opens = !isLandlord() || home.shared !== 'summary';
  return (
    <tr>
      <th scope="row">
        {opens ? <a href={`/?dwelling=${encodeURIComponent(home.slug)}`}>{home.name}</a> : home.name}
        {what !== '' && <small class="small block">{what}</small>}
        <small class="small block">
          {home.workedOutAt === null ? t.notYet : t.asOf(when(home.zone, home.workedOutAt, 'moment'))}
        </small>
        {isLandlord()
          ? !opens && <small class="small block">{t.lineOnly}</small>
          : home.shared !== null && <small class="small block">{t.shares[home.shared]}</small>}
        {isOwner() && (
          <button type="button" class="plain small" onClick={edit} aria-label={t.editOf(home.name)}>
            {t.edit}
          </button>
        )}
      </th>
      <td data-label={t.columns.tonight}>
        <TonightCell home={home} likely={likely} />
      </td>
      <td data-label={t.columns.factor}>
        <FactorCell home={home} />
      </td>
      <td data-label={t.columns.works}>
        {home.verdict === null ? (
          <span class="small">{home.workedOutAt === null ? t.notKnown : t.noWorks}</span>
        ) : (
          <span class={`state-words tone-${kindTone[home.verdict]}`}>{comparingWords.kinds[home.verdict]}</span>
        )}
      </td>
      <td data-label={t.columns.sensors}>
        <SensorsCell home={home} />
      </td>
      <td data-label={t.columns.room}>
        <RoomCell home={home} />
      </td>
    </tr>
  );
}

function TonightCell({ home: { tonight }, likely }: { home: HomeLine; likely: number }) {
  if (tonight === null) return <span class="small">{t.noForecast}</span>;
  const margin = { value: tonight.marginK, low: tonight.marginLowK, high: tonight.marginHighK };
  return (
    <>
      <span class={`state-words tone-${tonight.chance >= likely ? 'act' : 'quiet'}`}>
        {t.chance(quantity(tonight.chance * 100, '%', 0))}
      </span>
      <small class="small block">{t.margin(estimate(margin, 'K', digits.kelvin), tonight.place)}</small>
    </>
  );
}

const standingTone = { met: 'quiet', below: 'act', unsure: 'watch', 'not-compared': 'unknown' } as const;

function FactorCell({ home: { factor } }: { home: HomeLine }) {
  if (factor === null) return <span class="small">{t.noFactor}</span>;
  const { f: value, low, high, standing } = factor;
  return (
    <>
      {estimate({ value, low, high }, '', digits.factor)}{' '}
      <span class={`state-words tone-${standingTone[standing]}`}>
        {standing === 'not-compared'
          ? t.noTarget
          : t.target(t.standings[standing], number(factor.target, digits.factor))}
      </span>
      <small class="small block">{t.factorAt[factor.phase](factor.place)}</small>
    </>
  );
}

function SensorsCell({ home: { sensors, sensorsToVisit, visitReasons } }: { home: HomeLine }) {
  if (sensors === null || sensorsToVisit === null) return <span class="small">{t.notKnown}</span>;
  if (sensorsToVisit === 0) return <>{sensors === 0 ? t.noSensors : t.sensorsFine(number(sensors))}</>;
  return (
    <>
      <span class="state-words tone-watch">{t.sensorsVisit(number(sensorsToVisit), number(sensors))}</span>
      <small class="small block">{visitReasons.map((reason) => t.reasons[reason] ?? reason).join(', ')}</small>
    </>
  );
}

function RoomCell({ home: { tooCold, tooMoist } }: { home: HomeLine }) {
  const said = [...(tooCold ? [t.tooCold] : []), ...(tooMoist ? [t.tooMoist] : [])];
  if (said.length > 0) return <span class="state-words tone-watch">{said.join(', ')}</span>;
  return <span class="small">{tooCold === null || tooMoist === null ? t.notKnown : t.roomFine}</span>;
}

/** The homes that are asked for, counted by area or build type. */
function Counts({ asked }: { asked: NonNullable<Asked> }) {
  const by = groupings.find((one) => one === query.value.get('by'));
  return (
    <section>
      <div class="no-print">
        <Field label={t.countBy}>
          {(ids) => (
            <select
              {...ids}
              value={by ?? ANY}
              onChange={({ currentTarget: { value } }) => choose({ by: value === ANY ? null : value })}
            >
              <option value={ANY}>–</option>
              {groupings.map((one) => (
                <option key={one} value={one}>
                  {t.countings[one]}
                </option>
              ))}
            </select>
          )}
        </Field>
      </div>
      {by && <CountTable asked={asked} by={by} />}
    </section>
  );
}

function CountTable({ asked, by }: { asked: NonNullable<Asked>; by: PortfolioGrouping }) {
  const { order, most, condition, ...filters } = asked;
  const { loaded, again } = useLoad(`${by} ${JSON.stringify(filters)}`, 0, (signal) =>
    call('getPortfolioGroups', { query: { ...filters, by } }, signal),
  );
  const name = by === 'area' ? 'area' : 'buildType';
  return (
    <>
      <h2>{t.counted[by]}</h2>
      <Show loaded={loaded} again={again} room="table">
        {(rows) => (
          <table class="folds">
            <caption class="unseen">{t.counted[by]}</caption>
            <thead>
              <tr>
                <th scope="col">{t.countings[by]}</th>
                <th scope="col">{t.homesCount}</th>
                {conditions.map((one) => (
                  <th key={one} scope="col">
                    {t.conditions[one]}
                  </th>
                ))}
              </tr>
            </thead>
            <tbody>
              {rows.map((row) => (
                <tr key={row.name ?? ''}>
                  <th scope="row">
                    <button type="button" class="plain" onClick={() => choose({ [name]: row.name ?? '' })}>
                      {row.name ?? t.notTold}
                    </button>
                  </th>
                  <td data-label={t.homesCount}>{number(row.homes)}</td>
                  {conditions.map((one) => (
                    <td key={one} data-label={t.conditions[one]}>
                      {number(row[one])}
                    </td>
                  ))}
                </tr>
              ))}
            </tbody>
          </table>
        )}
      </Show>
    </>
  );
}
