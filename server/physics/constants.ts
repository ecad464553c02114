/** 0 °C in kelvin. */
export const ZERO_CELSIUS_K = 273.15;

/** Specific gas constant of water vapour, J/(kg K). @source ISO 13788:2012, 3.1 prints 462; 461.5 is the CODATA-based figure in common use. */
export const VAPOUR_GAS_CONSTANT = 461.5;
