// The notes of a draft: an immutable row, sorted by onset, never overlapping, each with a stable
// id.
//
// A value that is cheap to copy: lists share the notes that they have in common, so that a history
// of thousands of edits over thousands of notes stays small. [any]
#pragma once

#include <cstddef>
#include <cstdint>
#include <iterator>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "engine/notes/note.h"
#include "engine/result.h"
#include "engine/units.h"

namespace bentline {

// Names a note of one draft for good: never used twice, kept through every edit, save and reload.
struct NoteId {
    std::uint32_t value = 0;
    friend auto operator<=>(const NoteId&, const NoteId&) = default;
};

// Pencilled: proposed by the program. Inked: confirmed by the player.
enum class NoteState { pencilled, inked };
const char* to_text(NoteState state);

// The string and fret that the player wants for a note. string: 1 is the highest.
struct Pin {
    int string = 1;
    std::optional<int> fret;
    friend bool operator==(const Pin&, const Pin&) = default;
};

struct DraftNote {
    NoteId id;
    NoteState state = NoteState::pencilled;
    Note note;
    std::optional<Pin> pin;
    std::string unread;  // what a newer program wrote about it, as JSON; kept, not understood
    bool inked() const { return state == NoteState::inked; }
    friend bool operator==(const DraftNote&, const DraftNote&) = default;
};

class NoteList {
  public:
    using Handle = std::shared_ptr<const DraftNote>;
    class Iterator {
      public:
        using iterator_category = std::random_access_iterator_tag;
        using value_type = DraftNote;
        using difference_type = std::ptrdiff_t;
        using pointer = const DraftNote*;
        using reference = const DraftNote&;
        Iterator() = default;
        explicit Iterator(const Handle* at) : at_(at) {}
        reference operator*() const { return **at_; }
        pointer operator->() const { return at_->get(); }
        reference operator[](difference_type n) const { return *at_[n]; }
        Iterator& operator++() { return *this += 1; }
        Iterator operator++(int) { return Iterator(at_++); }
        Iterator& operator--() { return *this += -1; }
        Iterator operator--(int) { return Iterator(at_--); }
        Iterator& operator+=(difference_type n) {
            at_ += n;
            return *this;
        }
        Iterator& operator-=(difference_type n) { return *this += -n; }
        friend Iterator operator+(Iterator i, difference_type n) { return i += n; }
        friend Iterator operator+(difference_type n, Iterator i) { return i += n; }
        friend Iterator operator-(Iterator i, difference_type n) { return i -= n; }
        friend difference_type operator-(Iterator a, Iterator b) { return a.at_ - b.at_; }
        friend auto operator<=>(const Iterator&, const Iterator&) = default;

      private:
        const Handle* at_ = nullptr;
    };

    NoteList();
    // Sorts by onset and checks: times finite and within a million seconds, no note shorter than
    // shortest_note, no overlap, keys 0 to 127, ids all different and not 0. Fails with bad_edit
    // and says at which second.
    static Result<NoteList> make(std::vector<DraftNote> notes);
    static Result<NoteList> make(std::vector<Handle> notes);

    std::size_t size() const { return row_->size(); }
    bool empty() const { return row_->empty(); }
    const DraftNote& operator[](std::size_t i) const { return *(*row_)[i]; }
    Iterator begin() const { return Iterator(row_->data()); }
    Iterator end() const { return Iterator(row_->data() + row_->size()); }

    // By id, in one pass over the list; nothing if it is not there.
    std::optional<std::size_t> index_of(NoteId id) const;
    const DraftNote* find(NoteId id) const;
    // Indices of the notes whose onset lies in the range.
    Range<std::size_t> within(SecondsRange range) const;
    std::vector<NoteId> ids_within(SecondsRange range) const;

    // The shared notes themselves; two lists hold the same handle where they hold the same note.
    std::span<const Handle> handles() const { return *row_; }
    friend bool operator==(const NoteList& a, const NoteList& b);

  private:
    std::shared_ptr<const std::vector<Handle>> row_;
};

}  // namespace bentline
