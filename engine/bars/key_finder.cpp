// Key finding by correlation with key profiles.
#include "engine/bars/key_finder.h"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <sstream>

#include "engine/bars/chord.h"

namespace bentline {

const KeyProfile major_profile = {6.35, 2.23, 3.48, 2.33, 4.38, 4.09,
                                  2.52, 5.19, 2.39, 3.66, 2.29, 2.88};
const KeyProfile minor_profile = {6.33, 2.68, 3.52, 5.38, 2.60, 3.53,
                                  2.54, 4.75, 3.98, 2.69, 3.34, 3.17};

namespace {

// Pearson's correlation of x with a profile whose tonic is pitch class `tonic`.
double correlation(const KeyProfile& x, const KeyProfile& profile, int tonic) {
    const double mean_x = std::accumulate(x.begin(), x.end(), 0.0) / 12.0;
    const double mean_p = std::accumulate(profile.begin(), profile.end(), 0.0) / 12.0;
    double xp = 0.0;
    double xx = 0.0;
    double pp = 0.0;
    for (int k = 0; k < 12; ++k) {
        const double a = x[static_cast<std::size_t>((k + tonic) % 12)] - mean_x;
        const double b = profile[static_cast<std::size_t>(k)] - mean_p;
        xp += a * b;
        xx += a * a;
        pp += b * b;
    }
    return xx > 0.0 ? xp / std::sqrt(xx * pp) : 0.0;
}

Key spelled(int tonic, bool minor) {
    // Fifths above C of the tonic's signature, brought between six flats and five sharps.
    int fifths = (tonic * 7 - (minor ? 3 : 0)) % 12;
    while (fifths > 5)
        fifths -= 12;
    while (fifths < -6)
        fifths += 12;
    return {fifths, minor};
}

// A change of key must speak for itself by this much correlation, and by this many notes. On made
// choruses it finds most bridges a fourth or more away and makes up next to none (see the test).
constexpr double price_of_change = 0.12;
constexpr int enough_notes = 16;
// And the key itself must fit: what wanders fits none well.
constexpr double least_fit = 0.75;

struct Heard {
    KeyProfile durations{};  // of notes
    KeyProfile chords{};     // of chord tones
    double total = 0.0;      // of notes
    int notes = 0;
    bool with_chords = false;
    void add(const Note& n) {
        const double length = (n.offset - n.onset).value();
        durations[static_cast<std::size_t>(((n.key.value() % 12) + 12) % 12)] += length;
        total += length;
        ++notes;
    }
    // Chords that share a bar, each as long as another.
    void add_chords(const std::string& typed) {
        std::vector<Chord> known;
        std::istringstream words(typed);
        for (std::string word; words >> word;) {
            if (const auto chord = parse_chord(word)) known.push_back(*chord);
        }
        for (const Chord& chord : known) {
            for (const ChordTone& tone : chord.tones) {
                const int pitch_class = (chord.root.pitch_class() + tone.semitones) % 12;
                chords[static_cast<std::size_t>(pitch_class)] +=
                    1.0 / static_cast<double>(known.size());
                with_chords = true;
            }
        }
    }
};

double fit_of(const std::vector<KeyFit>& fits, const Key& key) {
    for (const KeyFit& f : fits) {
        if (f.key == key) return f.correlation;
    }
    return 0.0;
}

// Whether a section stands in another key than the tune's by what is heard of it.
bool speaks_for(const std::vector<KeyFit>& fits, const Key& own, const Key& tune, double price) {
    const double fit = fit_of(fits, own);
    return fit >= least_fit && fit - price > fit_of(fits, tune);
}

struct Plan {
    Key tune;
    std::vector<std::optional<Key>> own;  // of each letter
    double correlation = 0.0;
};

// The tune's key that with the letters' best keys fits best of all.
Plan best_plan(const std::vector<Heard>& heard) {
    std::vector<std::vector<KeyFit>> fits;
    std::vector<std::vector<KeyFit>> chords;
    for (const Heard& h : heard) {
        fits.push_back(fit_keys(h.durations));
        chords.push_back(fit_keys(h.chords));
    }
    double all = 0.0;
    for (const Heard& h : heard)
        all += h.total;
    Plan best;
    double best_score = -1e9;
    for (const KeyFit& tune : fit_keys(KeyProfile{})) {
        Plan plan{tune.key, std::vector<std::optional<Key>>(heard.size()), 0.0};
        double score = 0.0;
        double at_home = 0.0;
        for (std::size_t l = 0; l < heard.size(); ++l) {
            const double home = fit_of(fits[l], tune.key);
            double here = home;
            const KeyFit& own = fits[l].front();
            const bool other = own.key.fifths != tune.key.fifths;
            if (other && l > 0 && heard[l].notes >= enough_notes &&
                speaks_for(fits[l], own.key, tune.key, price_of_change) &&
                (!heard[l].with_chords || speaks_for(chords[l], own.key, tune.key, 0.0))) {
                plan.own[l] = own.key;
                here = own.correlation - price_of_change;
            } else {
                plan.correlation += home * heard[l].total;
                at_home += heard[l].total;
            }
            score += here * heard[l].total;
        }
        // A tune is at home for half of its time at least.
        if (at_home < 0.5 * all || at_home <= 0.0) continue;
        plan.correlation /= at_home;
        if (score > best_score + 1e-12) {
            best_score = score;
            best = std::move(plan);
        }
    }
    return best;
}

}  // namespace

std::vector<KeyFit> fit_keys(const KeyProfile& durations) {
    std::vector<KeyFit> fits;
    for (int tonic = 0; tonic < 12; ++tonic) {
        fits.push_back({spelled(tonic, false), correlation(durations, major_profile, tonic)});
        fits.push_back({spelled(tonic, true), correlation(durations, minor_profile, tonic)});
    }
    std::stable_sort(fits.begin(), fits.end(), [](const KeyFit& a, const KeyFit& b) {
        return a.correlation > b.correlation;
    });
    return fits;
}

std::vector<KeyFit> fit_keys(const std::vector<Note>& notes) {
    if (notes.empty()) return {};
    Heard heard;
    for (const Note& n : notes)
        heard.add(n);
    return fit_keys(heard.durations);
}

std::optional<SuggestedKeys> suggest_keys(const std::vector<Note>& notes,
                                          const std::optional<BarMap>& bars, const Form& form,
                                          const std::vector<std::string>& chords) {
    if (notes.empty()) return std::nullopt;
    // What is heard under each letter; the first is whatever lies in no section.
    std::vector<std::string> letters{""};
    std::vector<Heard> heard(1);
    for (const Note& n : notes) {
        std::string letter;
        if (bars) {
            const int bar = bars->position_at(n.onset).bar;
            for (const Section& s : form) {
                if (s.first_bar <= bar && bar < s.first_bar + s.bars) letter = s.letter;
            }
        }
        const auto known = std::find(letters.begin(), letters.end(), letter);
        const auto at = static_cast<std::size_t>(known - letters.begin());
        if (known == letters.end()) {
            letters.push_back(letter);
            heard.emplace_back();
        }
        heard[at].add(n);
    }
    for (const Section& s : form) {
        const auto known = std::find(letters.begin(), letters.end(), s.letter);
        if (!bars || known == letters.end()) continue;
        for (int bar = std::max(1, s.first_bar); bar < s.first_bar + s.bars; ++bar) {
            const auto at = static_cast<std::size_t>(bar - 1);
            if (at < chords.size())
                heard[static_cast<std::size_t>(known - letters.begin())].add_chords(chords[at]);
        }
    }
    const Plan plan = best_plan(heard);
    SuggestedKeys suggested{{plan.tune, form}, plan.correlation};
    for (Section& s : suggested.keys.form) {
        s.key.reset();
        const auto at = std::find(letters.begin(), letters.end(), s.letter);
        if (at != letters.end()) s.key = plan.own[static_cast<std::size_t>(at - letters.begin())];
    }
    return suggested;
}

}  // namespace bentline
