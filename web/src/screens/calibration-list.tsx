import { useState } from 'preact/hooks';
import type { CalibrationWire } from '../../../server/api/contract/calibrations.ts';
import { isOwner } from '../access/door.ts';
import { call } from '../api/client.ts';
import { revisions } from '../api/live.ts';
import { useLoad } from '../api/load.ts';
import { correctionText, differenceUnit, places } from '../calibrating/figures.ts';
import { useHome } from '../home.ts';
import { SaveForm, Sheet } from '../parts/form.tsx';
import { Show } from '../parts/notice.tsx';
import { calibratingWords as t } from '../words/calibrating.ts';
import { number, quantity, when } from '../words/format.ts';
import { words } from '../words/words.ts';

/** Every calibration ever made, with the drift between two of a series; any of them can be taken back. */
export function CalibrationList() {
  const home = useHome();
  const params = { dwelling: home.slug };
  const { loaded, again } = useLoad(`calibrations ${home.slug}`, revisions.story.value, (signal) =>
    call('listCalibrations', { params }, signal),
  );
  const [leaving, setLeaving] = useState<CalibrationWire | null>(null);
  const [said, say] = useState('');
  const leave = () => setLeaving(null);
  return (
    <section>
      <h2>{t.list}</h2>
      <p>{t.listLead}</p>
      <p class="small" role="status">
        {said}
      </p>
      <Show loaded={loaded} again={again} room="list">
        {(list) =>
          list.length === 0 ? (
            <p>{t.noList}</p>
          ) : (
            <table class="folds">
              <caption class="unseen">{t.list}</caption>
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
                {list.map((calibration) => (
                  <tr key={calibration.id}>
                    <th scope="row">
                      {calibration.sensorName}
                      <span class="small block">{words.quantities[calibration.quantity]}</span>
                    </th>
                    <td data-label={t.columns.made}>
                      {when(home.zone, calibration.madeAt, 'date')}
                      <span class="small block">{t.methods[calibration.method]}</span>
                    </td>
                    <td data-label={t.columns.correction}>
                      {correctionText(
                        calibration.correction,
                        calibration.uncertainty,
                        calibration.unit,
                        calibration.quantity,
                      )}
                      {calibration.points.length > 1 && <span class="small block">{t.line}</span>}
                    </td>
                    <td>
                      <span class={`state-words tone-${calibration.state === 'in-force' ? 'quiet' : 'unknown'}`}>
                        {t.states[calibration.state]}
                      </span>
                      <span class="small block">
                        {calibration.withdrawnAt !== null
                          ? t.withdrawnAt(when(home.zone, calibration.withdrawnAt, 'date'))
                          : calibration.from === null
                            ? t.fromFirst
                            : t.fromDay(when(home.zone, calibration.from, 'date'))}
                      </span>
                    </td>
                    <td data-label={t.columns.drift}>
                      <Drift calibration={calibration} />
                    </td>
                    <td>
                      {isOwner() && calibration.state !== 'withdrawn' && (
                        <button
                          type="button"
                          class="plain"
                          aria-label={t.withdrawTitle(nameOf(calibration))}
                          onClick={() => setLeaving(calibration)}
                        >
                          {t.withdraw}
                        </button>
                      )}
                    </td>
                  </tr>
                ))}
              </tbody>
            </table>
          )
        }
      </Show>
      {leaving !== null && (
        <Sheet title={t.withdrawTitle(nameOf(leaving))} close={leave}>
          <p>{t.withdrawLead}</p>
          <SaveForm
            submit={t.withdrawSure}
            leave={leave}
            leaveWords={words.keep}
            send={async () => {
              await call('withdrawCalibration', { params: { ...params, id: leaving.id } });
              say(t.withdrawn(nameOf(leaving)));
              revisions.story.value += 1;
              revisions.now.value += 1;
              leave();
            }}
          >
            {null}
          </SaveForm>
        </Sheet>
      )}
    </section>
  );
}

const nameOf = ({ sensorName, quantity: name }: CalibrationWire): string =>
  t.seriesTitle(sensorName, words.quantities[name].toLowerCase());

function Drift(props: { calibration: CalibrationWire }) {
  const { drift, unit, quantity: name } = props.calibration;
  if (drift === null) return <>{t.noDrift}</>;
  const perYear = drift.perYear;
  return (
    <>
      {t.drift(correctionText(drift.change, drift.uncertainty, unit, name), number(drift.days))}
      <span class="small block">
        {[
          drift.beyondDoubt ? t.driftBeyond : t.driftWithin,
          ...(perYear === null ? [] : [t.driftYear(quantity(perYear, differenceUnit(unit), places(name)))]),
        ].join(' · ')}
      </span>
    </>
  );
}
