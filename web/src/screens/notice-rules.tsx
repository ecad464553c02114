import { useRef, useState } from 'preact/hooks';
import type { WatchPreviewWire, WatchRuleWire } from '../../../server/api/contract/notices.ts';
import { isOwner } from '../access/door.ts';
import { Owners } from '../access/owners.tsx';
import { withDwelling } from '../address.ts';
import { CallFailed, call } from '../api/client.ts';
import { useLoad } from '../api/load.ts';
import { useHome } from '../home.ts';
import { Field, SaveForm, Sheet } from '../parts/form.tsx';
import { failureWords, Show } from '../parts/notice.tsx';
import { number, when, withUnit } from '../words/format.ts';
import { noticeWords } from '../words/notices.ts';
import '../style/notices.css';

const t = noticeWords.rules;

type Setting = WatchRuleWire['settings'][number];

/** Digits after the point that a setting is moved by. */
const digitsOf = ({ step }: Setting): number => (step < 1 ? 1 : 0);
const settingText = (setting: Setting, value: number): string =>
  withUnit(number(value, digitsOf(setting)), noticeWords.withUnits[setting.unit] ?? setting.unit);
const settingName = (name: string): string => noticeWords.settings[name] ?? name;

/** Every rule, when it speaks, and a way to try other settings on the last winter before keeping them. */
export function NoticeRulesScreen() {
  const home = useHome();
  const [revision, setRevision] = useState(0);
  const [edited, setEdited] = useState<WatchRuleWire | null>(null);
  const [said, say] = useState('');
  const { loaded, again } = useLoad(`rules ${home.slug}`, revision, (signal) =>
    call('getWatchRules', { params: { dwelling: home.slug } }, signal),
  );
  return (
    <>
      <h1>{t.title}</h1>
      <p class="lead">{t.lead}</p>
      <nav class="within" aria-label={noticeWords.more}>
        <ul>
          <li>
            <a href={withDwelling('/notices')}>{noticeWords.toNotices}</a>
          </li>
        </ul>
      </nav>
      <p class="small">{t.cautious}</p>
      <Owners />
      <p class="small" role="status">
        {said}
      </p>
      <Show loaded={loaded} again={again} room="screen">
        {({ rules }) => (
          <ul class="rule-list">
            {rules.map((rule) => (
              <li key={rule.code}>
                <h2>
                  {noticeWords.names[rule.code]}
                  {!rule.on && <span class="state-words tone-unknown"> {t.off}</span>}
                </h2>
                <p>{noticeWords.says[rule.code]}</p>
                <dl class="rule-settings">
                  {rule.settings.map((setting) => (
                    <div key={setting.name}>
                      <dt>{settingName(setting.name)}</dt>
                      <dd>
                        {settingText(setting, setting.value)}
                        {setting.value !== setting.usual && (
                          <span class="small"> ({t.usual(settingText(setting, setting.usual))})</span>
                        )}
                      </dd>
                    </div>
                  ))}
                </dl>
                {isOwner() && (
                  <button
                    type="button"
                    aria-label={t.changeOne(noticeWords.names[rule.code])}
                    onClick={() => setEdited(rule)}
                  >
                    {t.change}
                  </button>
                )}
              </li>
            ))}
          </ul>
        )}
      </Show>
      {edited !== null && (
        <RuleSheet
          rule={edited}
          leave={() => setEdited(null)}
          saved={() => {
            say(t.saved(noticeWords.names[edited.code]));
            setRevision(revision + 1);
            setEdited(null);
          }}
        />
      )}
    </>
  );
}

type Change = Record<string, number | boolean>;

const changeOf = (rule: WatchRuleWire, fields: FormData): Change => ({
  on: fields.get('on') !== null,
  ...Object.fromEntries(rule.settings.map(({ name }) => [name, Number(fields.get(name))])),
});

function RuleSheet(props: { rule: WatchRuleWire; leave: () => void; saved: () => void }) {
  const home = useHome();
  const { rule } = props;
  const fieldset = useRef<HTMLDivElement>(null);
  const params = { dwelling: home.slug };
  const fillIn = () => {
    for (const { name, usual } of rule.settings) {
      const input = fieldset.current?.querySelector<HTMLInputElement>(`input[name="${name}"]`);
      if (input) input.value = String(usual);
    }
  };
  return (
    <Sheet title={noticeWords.names[rule.code]} close={props.leave}>
      <SaveForm
        submit={t.save}
        leave={props.leave}
        send={async (fields) => {
          await call('changeWatchRules', { params, body: { [rule.code]: changeOf(rule, fields) } });
          props.saved();
        }}
      >
        <p>{noticeWords.says[rule.code]}</p>
        <div ref={fieldset}>
          <p>
            <label class="check">
              <input type="checkbox" name="on" defaultChecked={rule.on} /> {t.watch}
            </label>
          </p>
          {rule.settings.map((setting) => (
            <Field key={setting.name} label={withUnitName(setting)} hint={t.usual(settingText(setting, setting.usual))}>
              {(ids) => (
                <input
                  {...ids}
                  name={setting.name}
                  type="number"
                  required
                  min={setting.low}
                  max={setting.high}
                  step={setting.step}
                  defaultValue={String(setting.value)}
                />
              )}
            </Field>
          ))}
          <div class="buttons">
            <button type="button" onClick={fillIn}>
              {t.reset}
            </button>
          </div>
          <Preview rule={rule} fields={() => new FormData(fieldset.current!.closest('form')!)} />
        </div>
      </SaveForm>
    </Sheet>
  );
}

const withUnitName = (setting: Setting): string => {
  const unit = noticeWords.withUnits[setting.unit] ?? setting.unit;
  return unit === '' ? settingName(setting.name) : `${settingName(setting.name)}, ${unit}`;
};

type Tried =
  | { readonly kind: 'idle' | 'running' }
  | { readonly kind: 'done'; readonly preview: WatchPreviewWire }
  | { readonly kind: 'failed'; readonly why: string };

/** Runs the last winter with what the form holds now, beside what is kept. */
function Preview(props: { rule: WatchRuleWire; fields: () => FormData }) {
  const home = useHome();
  const { rule } = props;
  const [tried, setTried] = useState<Tried>({ kind: 'idle' });
  const run = async () => {
    if (tried.kind === 'running') return;
    setTried({ kind: 'running' });
    try {
      const body = { [rule.code]: changeOf(rule, props.fields()) };
      const preview = await call('previewWatchRules', { params: { dwelling: home.slug }, body });
      setTried({ kind: 'done', preview });
    } catch (reason) {
      if (!(reason instanceof CallFailed)) throw reason;
      setTried({ kind: 'failed', why: failureWords(reason.failure) });
    }
  };
  return (
    <div class="rule-preview">
      <div class="buttons">
        <button type="button" aria-disabled={tried.kind === 'running'} onClick={run}>
          {t.preview}
        </button>
      </div>
      <div role="status">
        {tried.kind === 'running' && <p class="small">{t.previewing}</p>}
        {tried.kind === 'failed' && <p class="notice tone-act">{tried.why}</p>}
        {tried.kind === 'done' && <PreviewWords rule={rule} preview={tried.preview} zone={home.zone} />}
      </div>
    </div>
  );
}

function PreviewWords(props: { rule: WatchRuleWire; preview: WatchPreviewWire; zone: string }) {
  const { rule, preview, zone } = props;
  const own = preview.rules.find(({ code }) => code === rule.code);
  const sum = (of: 'now' | 'changed') => number(preview.rules.reduce((total, counts) => total + counts[of], 0));
  return (
    <p>
      {own === undefined ? (
        t.previewNot
      ) : (
        <>
          {t.previewLead(when(zone, preview.from, 'date'), when(zone, preview.to, 'date'))}{' '}
          {t.previewRule(number(own.now), number(own.changed))}
        </>
      )}{' '}
      {t.previewAll(sum('now'), sum('changed'))}
    </p>
  );
}
