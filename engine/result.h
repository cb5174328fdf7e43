// One error type for the engine: a kind, a sentence for a person, and the place.
//
// Failures that a user can cause come back as a Failure inside a Result; programming errors assert.
// The sentence says what is wrong, where, and what to do, in that order, without a full stop at the
// end, so that a front end can print it on one line.
#pragma once

#include <cassert>
#include <optional>
#include <string>
#include <utility>
#include <variant>

#include "engine/units.h"

namespace bentline {

enum class FailureKind {
    not_found,     // the file or folder is not there
    unreadable,    // it is there but may not be read
    not_audio,     // no decoder knows it
    empty,         // it holds no sound
    truncated,     // it ends before its header says
    bad_samples,   // it holds values that are not numbers
    damaged,       // a part of it cannot be decoded
    gone,          // it was there when opened and is no longer, or is another file now
    unsupported,   // a rate, a channel count or a variant that is not handled
    out_of_range,  // an argument outside what is stated
    bad_draft,     // a draft file that cannot be understood
    bad_edit,      // an edit that does not fit the draft
    cannot_write,  // the disk is full, the folder is gone or may not be written
    no_device,     // no sound device, or it went away
    stopped,       // the user stopped the work
};

// Where it went wrong. Every part is optional.
struct Place {
    std::string path;
    std::optional<Frames> frame;
    std::string bar;
};

struct Failure {
    FailureKind kind;
    std::string sentence;  // names the place itself; Place is for programs
    Place place;
};

// Used by any worker that sees its stop token.
Failure stopped_failure();

template <class T>
class [[nodiscard]] Result {
  public:
    Result(T value) : held_(std::in_place_index<0>, std::move(value)) {}            // NOLINT
    Result(Failure failure) : held_(std::in_place_index<1>, std::move(failure)) {}  // NOLINT

    explicit operator bool() const { return held_.index() == 0; }
    bool ok() const { return held_.index() == 0; }

    T& value() & {
        assert(ok());
        return std::get<0>(held_);
    }
    const T& value() const& {
        assert(ok());
        return std::get<0>(held_);
    }
    T&& value() && {
        assert(ok());
        return std::get<0>(std::move(held_));
    }
    T* operator->() { return &value(); }
    const T* operator->() const { return &value(); }
    T& operator*() & { return value(); }
    const T& operator*() const& { return value(); }
    T&& operator*() && { return std::move(*this).value(); }

    const Failure& failure() const {
        assert(!ok());
        return std::get<1>(held_);
    }

  private:
    std::variant<T, Failure> held_;
};

// For work that yields nothing but success.
struct Done {};

}  // namespace bentline
