import { init, use } from "echarts/core";
import { BarChart, LineChart, ScatterChart } from "echarts/charts";
import { AriaComponent, GridComponent, LegendComponent, TooltipComponent } from "echarts/components";
import { SVGRenderer } from "echarts/renderers";
use([BarChart, LineChart, ScatterChart, AriaComponent, GridComponent, LegendComponent,
  TooltipComponent, SVGRenderer]);
export { init };
