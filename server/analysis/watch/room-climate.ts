import { surfaceHumidity } from '../../physics/surface.ts';
import { temperatureFactorWanted } from '../../physics/surface-wanted.ts';
import { isSurface } from '../vocabulary.ts';
import { type CasesOf, meanBack } from './watch-case.ts';

/** A room kept so cold that its surfaces cannot stay dry. */
export const roomTooCold: CasesOf = ({ places }, all) => {
  const { belowC, endC, outdoorsC, days } = all['room-too-cold'];
  const span = days * 24;
  const outdoor = places.find(({ kind }) => kind === 'outdoor-air');
  return places.flatMap((place) => {
    if (place.kind !== 'room-air' || outdoor === undefined) return [];
    const { temperature } = place.hours;
    const meanAt = (i: number): number | null => meanBack(temperature, i, span, span * 0.75);
    const outsideAt = (i: number): number | null => meanBack(outdoor.hours.temperature, i, span, span * 0.75);
    return [
      {
        rule: 'room-too-cold' as const,
        placeId: place.id,
        sensorId: null,
        detail: '',
        known: (k) => !Number.isNaN(temperature[k]!),
        begins(i) {
          const mean = meanAt(i);
          const outside = outsideAt(i);
          if (mean === null || outside === null || mean >= belowC || outside >= outdoorsC) return null;
          return {
            since: Math.max(0, i - span + 1),
            severity: 'note' as const,
            chance: null,
            data: { days, roomC: mean, belowC, outdoorsC: outside },
          };
        },
        ends(i) {
          const mean = meanAt(i);
          const outside = outsideAt(i);
          return (mean !== null && mean >= endC) || (outside !== null && outside >= outdoorsC + 1) ? i : null;
        },
      },
    ];
  });
};

/**
 * A room whose air, as it is on the mean of days, is too moist for its coldest surface. What the fabric cannot bear is told
 * by the factor it would need beside the one it has.
 */
export const roomTooMoist: CasesOf = ({ places }, all) => {
  const { limitPct, endPct, days } = all['room-too-moist'];
  const span = days * 24;
  const fewest = span * 0.75;
  const outdoor = places.find(({ kind }) => kind === 'outdoor-air');
  return places.flatMap((room) => {
    const surfaces = places.filter(({ kind, airPlaceId }) => isSurface(kind) && airPlaceId === room.id);
    if (room.kind !== 'room-air' || surfaces.length === 0) return [];
    const stateAt = (i: number) => {
      const pressure = meanBack(room.hours.vapourPressure, i, span, fewest);
      const roomC = meanBack(room.hours.temperature, i, span, fewest);
      if (pressure === null || roomC === null || !(pressure > 0)) return null;
      const means = surfaces.flatMap((surface) => {
        const surfaceC = meanBack(surface.hours.temperature, i, span, fewest);
        return surfaceC === null ? [] : [{ surface, surfaceC }];
      });
      means.sort((a, b) => a.surfaceC - b.surfaceC);
      const coldest = means[0];
      if (coldest === undefined) return null;
      const { surface, surfaceC } = coldest;
      return { pressure, roomC, surface, surfaceC, humidity: surfaceHumidity(pressure, surfaceC) };
    };
    return [
      {
        rule: 'room-too-moist' as const,
        placeId: room.id,
        sensorId: null,
        detail: '',
        known: (k) => !Number.isNaN(room.hours.vapourPressure[k]!),
        begins(i) {
          const state = stateAt(i);
          if (state === null || state.humidity < limitPct) return null;
          const coldC = outdoor === undefined ? null : meanBack(outdoor.hours.temperature, i, span, fewest);
          const outsidePa = outdoor === undefined ? null : meanBack(outdoor.hours.vapourPressure, i, span, fewest);
          const factors = coldC !== null && state.roomC - coldC >= 5;
          return {
            since: Math.max(0, i - span + 1),
            severity: 'note' as const,
            chance: null,
            data: {
              days,
              limitPct,
              humidityPct: state.humidity,
              surface: state.surface.name,
              surfaceC: state.surfaceC,
              roomC: state.roomC,
              roomHumidityPct: meanBack(room.hours.humidity, i, span, 1),
              excessPa: outsidePa === null ? null : state.pressure - outsidePa,
              factor: factors ? (state.surfaceC - coldC) / (state.roomC - coldC) : null,
              factorWanted: factors ? temperatureFactorWanted(state.roomC, state.pressure, coldC, limitPct) : null,
            },
          };
        },
        ends(i) {
          const state = stateAt(i);
          return state !== null && state.humidity <= endPct ? i : null;
        },
      },
    ];
  });
};
