// Undo and redo: the row of changes that led to a draft.
//
// A step keeps only what it changed (the notes before and after, shared with the drafts, and the
// rest of the draft only if that changed), so a step costs about as much as the notes it touched.
// [any]
#pragma once

#include <cstddef>
#include <memory>
#include <string>
#include <vector>

#include "engine/draft/edit.h"

namespace bentline {

// What is different between two drafts, both ways.
struct Change {
    struct OfNote {
        NoteList::Handle before;  // empty: the note is new
        NoteList::Handle after;   // empty: the note is gone
    };
    // Everything of a draft but its notes, from before and after; empty where nothing of it
    // changed.
    struct OfRest {
        std::shared_ptr<const Draft> before;
        std::shared_ptr<const Draft> after;
    };
    std::string words;
    std::vector<OfNote> notes;
    OfRest rest;
    NoteId next_before;  // Draft::next_id, which is not counted among the rest
    NoteId next_after;
    bool empty() const { return notes.empty() && !rest.before; }
};
Change difference(const Draft& before, const Draft& after, std::string words);
// The draft after (or, backwards, before) a change. Fails with bad_edit if the change was not made
// from this draft.
Result<Draft> forward(const Draft& draft, const Change& change);
Result<Draft> backward(const Draft& draft, const Change& change);

class History {
  public:
    // The oldest steps are forgotten beyond this many.
    static constexpr std::size_t longest = 10000;

    explicit History(Draft draft) : now_(std::move(draft)), saved_(0) {}

    const Draft& now() const { return now_; }
    // Applies an edit and puts it on the list; what was undone before is forgotten. An edit that
    // changes nothing is no step.
    // goes_on: the edit goes on with what the last step did, as a second press of the same key:
    // both become one step, in the words of the whole, or none where the second takes the first
    // back. A step that was saved or undone stays as it is.
    Result<Done> edit(const Edit& edit, bool goes_on = false);

    // Puts a change that was made before (recovered from a journal) on the list as if it were
    // edited now. Fails with bad_edit if it does not fit.
    Result<Done> replay(const Change& change);

    bool can_undo() const { return at_ > 0; }
    bool can_redo() const { return at_ < steps_.size(); }
    void undo();
    void redo();

    // The list: words of each step in order; the first done() of them are done.
    std::size_t steps() const { return steps_.size(); }
    std::size_t done() const { return at_; }
    const Change& step(std::size_t i) const { return steps_[i]; }

    // True while the draft differs from the one last marked as saved (the first, at the beginning).
    bool unsaved() const { return !saved_ || *saved_ != at_; }
    void mark_saved() { saved_ = at_; }
    // What is saved now is none of the drafts on the list.
    void mark_saved_aside() { saved_.reset(); }

  private:
    void add_step(Change change, Draft after);

    Draft now_;
    std::vector<Change> steps_;
    std::size_t at_ = 0;
    std::optional<std::size_t>
        saved_;  // steps done in the saved draft; empty: no longer on the list
};

}  // namespace bentline
