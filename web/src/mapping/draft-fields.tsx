import { useState } from 'preact/hooks';
import { type Quantity, quantityNames } from '../../../server/physics/quantities.ts';
import { type Unit, unitsOf } from '../../../server/physics/units.ts';
import { Field } from '../parts/form.tsx';
import { connectingWords as t } from '../words/connecting.ts';
import { words } from '../words/words.ts';
import {
  changed,
  type Draft,
  type DraftValue,
  namedByLevel,
  namedByText,
  namingLevelOf,
  namingLevels,
  type TimeForm,
  without,
} from './draft.ts';

/** What each chosen value is: quantity and unit, or the time and how it is written. */
export function MeaningFields(props: { draft: Draft; change: (draft: Draft) => void }) {
  const { draft, change } = props;
  return (
    <ul class="meanings" aria-label={t.meanings}>
      {draft.values.map((value) => (
        <li key={value.pointer}>
          <Meaning
            value={value}
            change={(part) => change(changed(draft, value.pointer, part))}
            takeOut={() => change(without(draft, value.pointer))}
          />
        </li>
      ))}
    </ul>
  );
}

const forms = Object.keys(t.forms) as TimeForm[];

function Meaning(props: { value: DraftValue; change: (part: Partial<DraftValue>) => void; takeOut: () => void }) {
  const { value, change } = props;
  const of = value.pointer === '' ? t.wholeMessage : value.pointer;
  return (
    <fieldset>
      <legend>
        <code class="wrap-anywhere">{of}</code>
      </legend>
      <div class="meaning-row">
        <Field label={t.meaning}>
          {(ids) => (
            <select
              {...ids}
              value={value.meaning}
              onChange={(event) => change({ meaning: event.currentTarget.value as Quantity | 'time' })}
            >
              {quantityNames.map((name) => (
                <option key={name} value={name}>
                  {words.quantities[name]}
                </option>
              ))}
              <option value="time">{t.time}</option>
            </select>
          )}
        </Field>
        {value.meaning === 'time' ? (
          <Field label={t.form}>
            {(ids) => (
              <select
                {...ids}
                value={value.form}
                onChange={(event) => change({ form: event.currentTarget.value as TimeForm })}
              >
                {forms.map((form) => (
                  <option key={form} value={form}>
                    {t.forms[form]}
                  </option>
                ))}
              </select>
            )}
          </Field>
        ) : (
          <Field label={t.unit}>
            {(ids) => (
              <select
                {...ids}
                value={value.unit}
                onChange={(event) => change({ unit: event.currentTarget.value as Unit })}
              >
                {unitsOf(value.meaning as Quantity).map((unit) => (
                  <option key={unit} value={unit}>
                    {t.units[unit]}
                  </option>
                ))}
              </select>
            )}
          </Field>
        )}
        <button type="button" class="plain" aria-label={t.takeOutValue(of)} onClick={props.takeOut}>
          {t.takeOut}
        </button>
      </div>
      {value.meaning !== 'time' && (
        <details>
          <summary>{t.more}</summary>
          <div class="meaning-row">
            <Field label={t.scale}>
              {(ids) => (
                <input
                  {...ids}
                  inputMode="decimal"
                  value={value.scale}
                  onInput={(event) => change({ scale: event.currentTarget.value })}
                />
              )}
            </Field>
            <Field label={t.offset}>
              {(ids) => (
                <input
                  {...ids}
                  inputMode="decimal"
                  value={value.offset}
                  onInput={(event) => change({ offset: event.currentTarget.value })}
                />
              )}
            </Field>
            <Field label={t.otherSensor} hint={t.otherSensorHint}>
              {(ids) => (
                <input
                  {...ids}
                  maxLength={120}
                  value={value.sensorKey}
                  onInput={(event) => change({ sensorKey: event.currentTarget.value })}
                />
              )}
            </Field>
          </div>
        </details>
      )}
    </fieldset>
  );
}

/** Which part of a topic names the sensor, or what name it is given. */
export function NamingFields(props: { topic: string; draft: Draft; change: (draft: Draft) => void }) {
  const { topic, draft, change } = props;
  const levels = namingLevels(topic);
  const level = namingLevelOf(draft);
  const name = (part: Pick<Draft, 'topicPattern' | 'sensorKey'>) => change({ ...draft, ...part });
  const own = levels.map(({ text }) => text).join('-');
  return (
    <fieldset class="naming">
      <legend>{t.names}</legend>
      <p class="small">{t.namesLead}</p>
      {levels.map(({ index, text }) => (
        <label key={index} class="block choice">
          <input
            type="radio"
            name="naming"
            checked={level === index}
            onChange={() => name(namedByLevel(topic, index))}
          />{' '}
          {t.byLevel(text)}
        </label>
      ))}
      <label class="block choice">
        <input
          type="radio"
          name="naming"
          checked={level === null}
          onChange={() => name(namedByText(topic, own.slice(0, 100)))}
        />{' '}
        {t.byText}
      </label>
      {level === null && !draft.sensorKey.includes('{') && (
        <Field label={t.ownName} hint={t.ownNameHint}>
          {(ids) => (
            <input
              {...ids}
              required
              maxLength={120}
              value={draft.sensorKey}
              onInput={(event) => change({ ...draft, sensorKey: event.currentTarget.value })}
            />
          )}
        </Field>
      )}
      <PatternFields draft={draft} change={change} shown="folded" />
    </fieldset>
  );
}

export function PatternFields(props: { draft: Draft; change: (draft: Draft) => void; shown: 'folded' | 'open' }) {
  const { draft, change } = props;
  const [open, setOpen] = useState(props.shown === 'open');
  const fields = (
    <>
      <Field label={t.pattern} hint={t.patternHint}>
        {(ids) => (
          <input
            {...ids}
            required
            maxLength={500}
            value={draft.topicPattern}
            onInput={(event) => change({ ...draft, topicPattern: event.currentTarget.value })}
          />
        )}
      </Field>
      <Field label={t.key} hint={t.keyHint}>
        {(ids) => (
          <input
            {...ids}
            required
            maxLength={120}
            value={draft.sensorKey}
            onInput={(event) => change({ ...draft, sensorKey: event.currentTarget.value })}
          />
        )}
      </Field>
    </>
  );
  if (props.shown === 'open') return fields;
  return (
    <details open={open} onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>{t.writeYourself}</summary>
      {fields}
    </details>
  );
}
