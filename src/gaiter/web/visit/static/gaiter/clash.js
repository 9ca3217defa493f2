// Two people differ: the form that settles it stands outside the form of the visit.

/**
 * Makes the form of every clash under a root that has none yet.
 *
 * @param {ParentNode} root
 */
export function makeForms(root) {
  /** @type {NodeListOf<HTMLTemplateElement>} */
  const templates = root.querySelectorAll("template[data-form]");
  for (const { dataset } of templates) {
    const id = dataset.form ?? "";
    if (document.getElementById(id)) continue;
    const made = document.createElement("form");
    Object.assign(made, { id, method: "post", action: dataset.action });
    document.body.append(made);
  }
}
