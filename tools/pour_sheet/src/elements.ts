// SPDX-License-Identifier: GPL-3.0-or-later
// Elements are made by hand and text is set as text, never as markup: a file's name or a card's
// name can say what it likes.

type Child = Node | string | null | undefined;
type Attributes = Record<string, string | number | boolean | ((event: Event) => void)>;

export function el<Tag extends keyof HTMLElementTagNameMap>(
  tag: Tag,
  attributes: Attributes = {},
  ...children: Child[]
): HTMLElementTagNameMap[Tag] {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (typeof value === "function") element.addEventListener(name, value);
    else if (value === true) element.setAttribute(name, "");
    else if (value !== false) element.setAttribute(name, String(value));
  }
  for (const child of children) if (child !== null && child !== undefined) element.append(child);
  return element;
}

export function replace(parent: Element, ...children: Child[]): void {
  parent.replaceChildren(...children.filter((c): c is Node | string => c !== null && c !== undefined));
}

export function row(label: string, ...value: Child[]): HTMLElement {
  return el("div", { class: "row" }, el("dt", {}, label), el("dd", {}, ...value));
}
