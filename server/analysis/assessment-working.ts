import type { Assessment, Working } from './assessment.ts';

/** How the main figures were worked out: formula, inputs, source. */
export function workingOf(result: Omit<Assessment, 'working'>): readonly Working[] {
  const out: Working[] = [];
  for (const phase of [result.before, result.after]) {
    if (!phase?.working) continue;
    const { working } = phase;
    out.push({
      figure: `${phase.phase}.f`,
      formula:
        'f = sum(surface - cold side) / sum(room - cold side) over settled night hours, both airs delayed by the fitted lags',
      inputs: [
        { name: 'nights', value: working.nights, unit: '' },
        { name: 'hours', value: working.hours, unit: 'h' },
        { name: 'mean room - cold difference', value: working.meanDifferenceK, unit: 'K' },
        { name: 'lag of the cold side', value: working.coldLagHours, unit: 'h' },
        { name: 'lag of the room', value: working.roomLagHours, unit: 'h' },
        {
          name: 'standard uncertainty by chance, nights resampled in blocks',
          value: working.randomUncertainty,
          unit: '',
        },
        { name: 'standard uncertainty by sensor offsets and method', value: working.systematicUncertainty, unit: '' },
        { name: 'slope, which offsets do not move', value: working.slope?.value ?? null, unit: '' },
        { name: 'cold side', value: result.coldSide, unit: '' },
      ],
      source: 'ISO 13788:2012, 3.1.2; blocks of days: Künsch (1989)',
    });
  }
  if (result.response && result.riskHours.expectedAfterWithoutWorks) {
    const { response } = result;
    out.push({
      figure: 'riskHours.expectedAfterWithoutWorks',
      formula:
        'surface = cold + intercept + f (room - cold) + residual, room and cold delayed, fitted before, driven by the after phase; an hour counts where its own room vapour pressure gives the limit or more at that temperature',
      inputs: [
        { name: 'f of the untreated surface', value: response.f, unit: '' },
        { name: 'intercept', value: response.interceptK, unit: 'K' },
        { name: 'lag of the cold side', value: response.coldLagHours, unit: 'h' },
        { name: 'lag of the room', value: response.roomLagHours, unit: 'h' },
        { name: 'mean bias error', value: response.nmbePct, unit: '% of the drop room - surface' },
        { name: 'root mean square error', value: response.cvRmsePct, unit: '% of the drop room - surface' },
        { name: 'resamples', value: result.settings.resamples, unit: '' },
      ],
      source: 'IPMVP adjusted baseline; ASHRAE Guideline 14-2014 for the limits of fit',
    });
    out.push({
      figure: 'riskHours.avoided',
      formula: 'expected without the works - measured after, over the same hours',
      inputs: [
        { name: 'expected', value: result.riskHours.expectedAfterWithoutWorks.value, unit: 'h' },
        { name: 'measured', value: result.riskHours.after?.value ?? null, unit: 'h' },
      ],
      source: 'ISO 13788:2012, 5 for the limit of 80 % (there a monthly mean; by the hour it is an indicator)',
    });
  }
  if (result.control.kind === 'agrees' || result.control.kind === 'disagrees') {
    out.push({
      figure: 'control.differenceInDifferences',
      formula: '(treated after - treated before) - (control after - control before)',
      inputs: [
        { name: 'change of the treated surface', value: result.control.treatedChange.value, unit: '' },
        { name: 'change of the control surface', value: result.control.controlChange.value, unit: '' },
      ],
      source: 'difference in differences; the same nights are resampled for both surfaces',
    });
  }
  if (result.causes) {
    out.push({
      figure: 'causes',
      formula: 'Shapley value of each of three remedies over the risk hours of the before phase',
      inputs: [
        { name: 'risk hours', value: result.causes.riskHours, unit: 'h' },
        { name: 'fabric: surface at f', value: result.causes.targetF, unit: '' },
        { name: 'moisture: vapour excess within humidity class', value: result.causes.humidityClassLimit, unit: '' },
        { name: 'heating: room at least', value: result.causes.heatedToC, unit: '°C' },
      ],
      source: 'Shapley (1953); humidity classes: ISO 13788:2012, Annex A',
    });
  }
  return out;
}
