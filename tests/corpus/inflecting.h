// Inflects one note of a stroke: bends the contour and writes the inflection's truth beside it.
#pragma once

#include "tests/corpus/phrase.h"
#include "tests/support/dice.h"

namespace bentline::corpus {

enum class Choice {
    plain,
    vibrato,
    bend,
    prebend,
    trill,
    slide_in,
    long_slide_in,
    slide_out,
    slide_to_next,
    slur,
    staccato,
    accent,
};

// Works on the last note of `stroke`. Times are since the stroke's pluck; `from` and `to` are the
// note's own. `joined`: the note was not struck.
class Inflecting {
  public:
    Inflecting(testing::Dice& dice, Stroke& stroke, PhraseNote& note, Seconds from, Seconds to,
               bool joined)
        : dice_(dice),
          stroke_(stroke),
          note_(note),
          from_(from),
          to_(to),
          plain_{from, to},
          joined_(joined) {}

    // Every choice but slide_to_next and slur. Returns where the note now ends.
    Seconds apply(Choice choice);
    // The finger slides on and arrives at `target` (above the contour's base) at `arrival`.
    void slide_on(Seconds arrival, Cents target);
    // The next note is hammered on or pulled off at `arrival`.
    void slur_on(Seconds arrival, Cents target);
    // The part of the note that neither bends nor slides.
    SecondsRange plain() const { return plain_; }

  private:
    void vibrato(Seconds from);
    void bend();
    void prebend();
    void trill();
    void slide_in(int least, int most);
    void slide_out();
    void accent();
    void add(InflectionKind kind) { note_.truth.inflections.push_back({std::move(kind), {}, {}}); }
    SecondsRange in_phrase(Seconds a, Seconds b) const {
        return {stroke_.pluck + a, stroke_.pluck + b};
    }
    Seconds length() const { return to_ - from_; }
    Cents bend_size();

    testing::Dice& dice_;
    Stroke& stroke_;
    PhraseNote& note_;
    Seconds from_;
    Seconds to_;
    SecondsRange plain_;
    bool joined_;
};

}  // namespace bentline::corpus
