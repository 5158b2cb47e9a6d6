// What the pages need of Vega, and nothing more: a view, the parser that leaves expressions as
// syntax trees, and the interpreter that walks those trees, so that no page needs 'unsafe-eval'.
import { transforms } from "vega-dataflow";
import * as encode from "vega-encode";
import { expressionInterpreter } from "vega-interpreter";
import { parse } from "vega-parser";
import * as dataTransforms from "vega-transforms";
import { extend } from "vega-util";
import { View } from "vega-view";
import * as viewTransforms from "vega-view-transforms";

extend(transforms, dataTransforms, viewTransforms, encode);

/**
 * Draw a compiled Vega specification.
 *
 * @param {object} spec compiled Vega specification
 * @param {object} options options of the view: container, renderer, tooltip
 * @returns {View} the view, not yet run
 */
export function viewOf(spec, options) {
  return new View(parse(spec, null, { ast: true }), { expr: expressionInterpreter, ...options });
}
