declare module 'svgcanvas' {
  interface SvgContext extends CanvasRenderingContext2D {
    getSerializedSvg(fixNamedEntities?: boolean): string;
  }
  /** A canvas context that keeps what is drawn as SVG. */
  export const Context: new (options: { width: number; height: number; document: Document }) => SvgContext;
}
