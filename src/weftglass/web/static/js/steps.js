// What was done at the bench, so that it can be undone and redone.

export class Steps {
  constructor() { this.done = []; this.undone = []; }

  /** Remember a step as {words, before, after}; both are the parts of the state that changed. */
  add(step) { this.done.push(step); this.undone.length = 0; }

  get canUndo() { return this.done.length > 0; }

  get canRedo() { return this.undone.length > 0; }

  undo() { const step = this.done.pop(); this.undone.push(step); return step; }

  redo() { const step = this.undone.pop(); this.done.push(step); return step; }
}
