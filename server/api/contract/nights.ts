/** Local hours of the night, for a page that shades them. */
export { nightHours } from '../../analysis/night-hours.ts';
