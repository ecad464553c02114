import { mouldSensitivities } from '../../../server/physics/mould-sensitivity.ts';
import { comparingWords } from '../words/comparing.ts';
import { number } from '../words/format.ts';
import { liningWords as t } from '../words/lining.ts';
import { said } from '../words/say.ts';
import { type Draft, exampleClimate } from './draft.ts';
import type { Faults } from './faults.ts';
import { ChoiceField, NumberField } from './value-field.tsx';

type Climate = NonNullable<Draft['rest']['climate']>;
const designNames = ['room_c', 'room_humidity_pct', 'outdoor_c', 'outdoor_humidity_pct'] as const;

/** Slope, design state, leak and months by which the build-ups are judged. */
export function StateFields(props: { draft: Draft; faults: Faults; change: (draft: Draft) => void }) {
  const { draft, faults, change } = props;
  const { rest } = draft;
  const set = (part: Partial<Draft['rest']>) => change({ ...draft, rest: { ...rest, ...part } });
  return (
    <section class="layers">
      <h2>{t.state}</h2>
      <div class="field-row">
        <NumberField
          label={t.pitch}
          value={draft.pitch}
          fault={faults.of('/pitch_deg')}
          change={(pitch) => change({ ...draft, pitch })}
        />
        {designNames.map((name) => (
          <NumberField
            key={name}
            label={t.design[name]}
            value={rest.design[name]}
            fault={faults.of(`/design/${name}`)}
            change={(value) => set({ design: { ...rest.design, [name]: value } as typeof rest.design })}
          />
        ))}
        <NumberField
          label={t.leak}
          value={rest.air_leak_m3_per_h_m2}
          fault={faults.of('/air_leak_m3_per_h_m2')}
          hint={t.leakHint}
          change={(value) => set({ air_leak_m3_per_h_m2: value as number })}
        />
        <ChoiceField
          label={t.mouldClass}
          value={rest.old_surface_mould_class}
          options={mouldSensitivities.map((name) => [name, comparingWords.mouldClasses[name]])}
          change={(old_surface_mould_class) => set({ old_surface_mould_class })}
        />
        <ChoiceField
          label={t.climate}
          value={rest.climate === undefined ? 'own' : 'typed'}
          options={[
            ['own', t.climateOwn],
            ['typed', t.climateTyped],
          ]}
          change={(from) => set({ climate: from === 'own' ? undefined : exampleClimate })}
        />
      </div>
      {rest.climate !== undefined && (
        <ClimateFields climate={rest.climate} faults={faults} change={(climate) => set({ climate })} />
      )}
    </section>
  );
}

const monthNames = ['outdoor_c', 'outdoor_humidity_pct', 'room_c'] as const;
const monthWords = { outdoor_c: t.outdoorC, outdoor_humidity_pct: t.outdoorPct, room_c: t.roomC };

function ClimateFields(props: { climate: Climate; faults: Faults; change: (climate: Climate) => void }) {
  const { climate, faults, change } = props;
  return (
    <details>
      <summary>{t.climateTable}</summary>
      <p class="small">{t.climateExample}</p>
      <ChoiceField
        label={t.humidityClass}
        value={String(climate.humidity_class ?? 3)}
        options={[1, 2, 3, 4].map((n) => [String(n), number(n)])}
        change={(n) => change({ ...climate, humidity_class: Number(n) })}
      />
      <table class="folds months">
        <caption class="unseen">{t.climateTable}</caption>
        <thead>
          <tr>
            <th scope="col">{t.month}</th>
            {monthNames.map((name) => (
              <th key={name} scope="col">
                {monthWords[name]}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {climate.months.map((month, i) => (
            <tr key={month.name}>
              <th scope="row">{said.term(month.name)}</th>
              {monthNames.map((name) => (
                <td key={name}>
                  <NumberField
                    label={`${said.term(month.name)}, ${monthWords[name]}`}
                    value={month[name]}
                    fault={faults.of(`/climate/months/${i}/${name}`)}
                    change={(value) =>
                      change({
                        ...climate,
                        months: climate.months.map((one, at) =>
                          at === i ? ({ ...one, [name]: value } as typeof one) : one,
                        ),
                      })
                    }
                  />
                </td>
              ))}
            </tr>
          ))}
        </tbody>
      </table>
    </details>
  );
}
