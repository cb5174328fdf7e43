// Inflections to signs, one at a time.
#include "engine/score/signs.h"

#include <algorithm>
#include <cmath>

namespace bentline {
namespace {

class Writer {
  public:
    Writer(const Note& note, const SignRules& rules) : note_(note), rules_(rules) {}

    void operator()(const SlideIn& slide) {
        if (slide.from && *slide.from != note_.key) {
            signs.slid_from = slide.from;
            signs.first.push_back(SlideInSign{});
        } else {
            signs.first.push_back(ScoopSign{false});
        }
    }
    void operator()(const SlideOut& slide) {
        FallSign fall;
        if (slide.to) {
            const int away = slide.to->value() - note_.key.value();
            fall.upward = away > 0;
            fall.semitones = std::abs(away);
        }
        signs.last.push_back(fall);
    }
    void operator()(const SlideToNext&) { signs.last.push_back(SlideToNextSign{}); }
    void operator()(const Bend& bend) {
        if (bend.size < rules_.least_bend) return;
        const double semitones = std::max(0.5, std::round(bend.size.value() / 50.0) / 2.0);
        signs.first.push_back(BendSign{semitones, bend.size, bend.release, bend.prebend});
    }
    void operator()(const Vibrato& vibrato) {
        if (vibrato.depth < rules_.least_vibrato) return;
        const Seconds length =
            vibrato.span ? vibrato.span->to - vibrato.span->from : note_.offset - note_.onset;
        if (length.value() * vibrato.rate.value() < rules_.least_cycles) return;
        signs.first.push_back(
            WavyLineSign{vibrato.depth >= rules_.wide_vibrato, vibrato.rate, vibrato.depth});
    }
    void operator()(const Trill& trill) { signs.trill = trill.semitones; }
    void operator()(const Staccato&) { signs.first.push_back(DotSign{}); }
    void operator()(const Accent&) { signs.first.push_back(AccentSign{}); }

    NoteSigns signs;

  private:
    const Note& note_;
    const SignRules& rules_;
};

}  // namespace

NoteSigns signs_of(const Note& note, const SignRules& rules) {
    Writer writer(note, rules);
    for (const Inflection& inflection : note.inflections) {
        if (inflection.confidence.value_or(1.0) < rules.least_confidence) continue;
        std::visit(writer, inflection.what);
    }
    return writer.signs;
}

}  // namespace bentline
