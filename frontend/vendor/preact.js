export { h, render, Fragment, createContext } from "preact";
export { useEffect, useLayoutEffect, useRef, useState, useMemo, useCallback } from "preact/hooks";
export { signal, computed, effect, batch, untracked, useSignal, useComputed, useSignalEffect } from "@preact/signals";
import { h } from "preact";
import htm from "htm";
export const html = htm.bind(h);
