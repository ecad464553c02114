/** The part of psychrolib that the tests call; the package carries no types. */
declare module 'psychrolib' {
  interface Psychrolib {
    readonly SI: number;
    SetUnitSystem(system: number): void;
    /** over ice below 0.01 °C, Pa */
    GetSatVapPres(temperature: number): number;
    GetVapPresFromRelHum(temperature: number, share: number): number;
    GetTDewPointFromRelHum(temperature: number, share: number): number;
    GetHumRatioFromVapPres(vapourPressure: number, airPressure: number): number;
  }
  const psychrolib: Psychrolib;
  export default psychrolib;
}
