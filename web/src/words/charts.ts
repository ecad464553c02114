import { enCharts } from './en-charts.ts';

/** Text of the charts. It comes with them, not with the first screen. */
export const chartWords: typeof enCharts = enCharts;
