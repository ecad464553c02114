import type { Assessment } from '../../../server/api/contract/comparison.ts';
import { Figure, FigureProse } from '../parts/working.tsx';
import { comparingWords as t } from '../words/comparing.ts';
import { estimate } from '../words/format.ts';
import { said } from '../words/say.ts';

/** A surface that was not treated shows what would have changed anyway. */
export function Control(props: { assessment: Assessment }) {
  const { control } = props.assessment;
  return (
    <section>
      <h2>{t.controlTitle}</h2>
      {control.kind === 'missing' && <p>{t.controlMissing}</p>}
      {control.kind === 'too-thin' && <p>{t.controlThin(control.place)}</p>}
      {(control.kind === 'agrees' || control.kind === 'disagrees') && (
        <>
          <p>
            <FigureProse
              text={said.control(control)}
              paths={['control.differenceInDifferences', 'control.controlChange']}
            />
          </p>
          <p class="small">
            {t.controlOwn}{' '}
            <Figure path="control.controlChange" text={estimate(control.controlChange, '', 2)} of={t.controlOwn} />
          </p>
          <p class="small">
            {t.controlChanges}{' '}
            <Figure
              path="control.differenceInDifferences"
              text={estimate(control.differenceInDifferences, '', 2)}
              of={t.controlChanges}
            />
          </p>
        </>
      )}
    </section>
  );
}
