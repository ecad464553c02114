import type { Field, Table } from '../evidence/table.ts';
import type { HomeLine } from './contract/portfolio.ts';

const text = (name: string, description: string, of: (home: HomeLine) => string | null): Field<HomeLine> => ({
  name,
  type: 'string',
  description,
  of,
});
const number = (name: string, description: string, of: (home: HomeLine) => number | null): Field<HomeLine> => ({
  name,
  type: 'number',
  description,
  of,
});
const instant = (name: string, description: string, of: (home: HomeLine) => string | null): Field<HomeLine> => ({
  name,
  type: 'datetime',
  description,
  of: (home) => {
    const at = of(home);
    return at === null ? null : Date.parse(at);
  },
});
const said = (name: string, description: string, of: (home: HomeLine) => boolean | null): Field<HomeLine> => ({
  name,
  type: 'boolean',
  description,
  of,
});

/** The list of homes as a file, a row a home. */
export const homeTable: Table<HomeLine> = {
  name: 'homes',
  title: 'Homes, each as it was when its line was worked out',
  primaryKey: ['dwelling'],
  fields: [
    { ...text('dwelling', 'name in addresses and topics', (home) => home.slug), required: true },
    text('name', 'as people call it', (home) => home.name),
    text('area', 'where it is', (home) => home.area),
    text('build_type', 'how it is built', (home) => home.buildType),
    instant('worked_out_at', 'when the figures were worked out', (home) => home.workedOutAt),
    instant('data_to', 'end of the last hour of which anything is known', (home) => home.dataTo),
    { ...text('night', 'date on which the night begins', (home) => home.tonight?.night ?? null), type: 'date' },
    text('tonight_place', 'surface where condensation is likeliest', (home) => home.tonight?.place ?? null),
    number('tonight_chance', 'of condensation there, 0 to 1', (home) => home.tonight?.chance ?? null),
    number('tonight_margin_k', 'lowest dew-point margin', (home) => home.tonight?.marginK ?? null),
    number('tonight_margin_low_k', 'low end of its 90 % interval', (home) => home.tonight?.marginLowK ?? null),
    number('tonight_margin_high_k', 'high end of its 90 % interval', (home) => home.tonight?.marginHighK ?? null),
    text('factor_place', 'ceiling with the lowest temperature factor', (home) => home.factor?.place ?? null),
    text('factor_phase', 'before or after the works', (home) => home.factor?.phase ?? null),
    number('factor', 'temperature factor f there', (home) => home.factor?.f ?? null),
    number('factor_low', 'low end of its 95 % interval', (home) => home.factor?.low ?? null),
    number('factor_high', 'high end of its 95 % interval', (home) => home.factor?.high ?? null),
    number('factor_target', 'target it is held to', (home) => home.factor?.target ?? null),
    text('factor_standing', 'how it stands to the target', (home) => home.factor?.standing ?? null),
    text('works_verdict', 'whether the works helped', (home) => home.verdict),
    number('sensors', 'that stand somewhere', (home) => home.sensors),
    number('sensors_to_visit', 'among them', (home) => home.sensorsToVisit),
    text('visit_reasons', 'codes', (home) => (home.visitReasons.length === 0 ? null : home.visitReasons.join(' '))),
    said('too_cold', 'empty: not watched for or not known', (home) => home.tooCold),
    said('too_moist', 'empty: not watched for or not known', (home) => home.tooMoist),
  ],
};
