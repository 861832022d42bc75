// A plot in SVG with the same numbers as a table below it.

import { html, useEffect, useRef, useSignalEffect } from "../vendor/preact.js";
import { dark } from "./state.js";
import { LINES } from "./colours.js";

const css = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();

// series: [{name, x: [], y: [], kind?: "line"|"scatter"}]; mark: x of a line that follows the slider
export function Chart({ title, x, y, series, mark = null, onPick = null, chosen = null, limits = [] }) {
  const box = useRef(null);
  const chart = useRef(null);
  const line = useRef(null);
  const top = series.length + limits.length > 2 ? 56 : series.length > 1 ? 34 : 14;
  // A thin line over the plot is moved, nothing is drawn anew.
  const follow = () => {
    const at = mark?.value;
    if (!line.current || !chart.current || at == null) return;
    line.current.style.transform = `translateX(${chart.current.convertToPixel({ xAxisIndex: 0 }, at)}px)`;
    line.current.style.top = `${top}px`;
    line.current.hidden = false;
  };
  const option = () => {
    const ink = css("--ink"), faint = css("--faint"), rule = css("--rule");
    const axis = (name) => ({
      type: "value", name, nameLocation: "middle", nameGap: name === y ? 38 : 26, scale: true,
      nameTextStyle: { color: ink }, axisLabel: { color: ink }, axisLine: { lineStyle: { color: faint } },
      splitLine: { lineStyle: { color: rule } },
    });
    const dashes = ["solid", "dashed", "dotted", [8, 3, 2, 3]];
    return {
      animation: false,
      aria: { enabled: true, label: { description: `${title}: ${series.map((s) => s.name).join(", ")} over ${x}. The numbers stand in the table below.` } },
      color: LINES[dark.value ? "dark" : "light"],
      grid: { left: 58, right: 18, top, bottom: 44 },
      legend: series.length > 1 || limits.length ? { top: 0, left: 50, textStyle: { color: ink }, itemWidth: 26 } : undefined,
      tooltip: { trigger: onPick ? "item" : "axis", renderMode: "richText", backgroundColor: css("--card"), textStyle: { color: ink }, borderColor: faint,
        valueFormatter: (v) => (typeof v === "number" ? v.toPrecision(4) * 1 : v) },
      xAxis: axis(x), yAxis: axis(y),
      series: [
        ...series.map((s, k) => ({
          type: s.kind ?? "line", name: s.name, symbol: ["circle", "rect", "triangle", "diamond"][k % 4], symbolSize: s.kind === "scatter" ? 9 : 5, showSymbol: s.x.length <= 40,
          lineStyle: { type: dashes[k % 4], width: 2 },
          data: s.x.map((v, i) => ({ value: [v, s.y[i]], pick: s.ids?.[i], ...(chosen !== null && s.ids?.[i] === chosen ? { itemStyle: { color: css("--clay"), borderColor: ink, borderWidth: 2 }, symbolSize: 16 } : {}) }))
            .filter((p) => p.value[0] != null && p.value[1] != null),
        })),
        ...limits.map((l) => ({ type: "line", name: l.name, symbol: "none", lineStyle: { type: "dashed", color: css("--clay") }, itemStyle: { color: css("--clay") },
          data: [[Math.min(...series.flatMap((s) => s.x)), l.y], [Math.max(...series.flatMap((s) => s.x)), l.y]] })),
      ],
    };
  };
  useEffect(() => {
    let alive = true;
    const watcher = new ResizeObserver(() => {
      chart.current?.resize();
      follow();
    });
    import("../vendor/echarts.js").then(({ init }) => {
      if (!alive) return;
      chart.current = init(box.current, null, { renderer: "svg" });
      chart.current.setOption(option());
      if (onPick) chart.current.on("click", (e) => onPick(e.data.pick));
      watcher.observe(box.current);
      box.current.dataset.ready = "1";
      follow();
    });
    return () => {
      alive = false;
      watcher.disconnect();
      chart.current?.dispose();
    };
  }, []);
  useEffect(() => {
    chart.current?.setOption(option(), { replaceMerge: ["series"] });
    follow();
  }, [series.map((s) => s.x), series.map((s) => s.y), dark.value, chosen, x, y].flat());
  useSignalEffect(follow);
  return html`<figure class="chart"><figcaption>${title}</figcaption><div class="plot"><div class="drawn" ref=${box}></div>${mark ? html`<i class="mark-line" ref=${line} hidden></i>` : null}</div></figure>`;
}

const shown = (value) => (value == null ? "" : typeof value === "number" ? Number(value.toPrecision(5)) : value);

export function Numbers({ table, caption, limit = 12 }) {
  if (!table?.names?.length) return null;
  const rows = Math.min(limit, table.columns[0].length);
  return html`<div class="scroll" tabindex="0" role="region" aria-label=${caption}><table><caption>${caption}${table.rows > rows ? ` (first ${rows} of ${table.rows} rows)` : ""}</caption>
    <thead><tr>${table.names.map((n) => html`<th scope="col">${n.replaceAll("_", " ")}</th>`)}</tr></thead>
    <tbody>${Array.from({ length: rows }, (_, r) => html`<tr>${table.columns.map((c) => html`<td class=${typeof c[r] === "number" ? "number" : ""}>${shown(c[r])}</td>`)}</tr>`)}</tbody></table></div>`;
}
