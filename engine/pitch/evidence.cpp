// The measures and their weights.
#include "engine/pitch/evidence.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "engine/pitch/classical_weights.h"
#include "engine/pitch/evidence_weights.h"

namespace bentline {

namespace {

double decibels_of(double amplitude) {
    return 20.0 * std::log10(amplitude + 1e-6);
}

// Upper quartile of `values` from `from` to `to`.
double upper_quartile(std::span<const float> values, std::size_t from, std::size_t to) {
    std::vector<float> some;
    for (std::size_t i = from; i < to; i += 3)
        some.push_back(values[i]);
    const auto at = static_cast<std::ptrdiff_t>(3 * some.size() / 4);
    std::nth_element(some.begin(), some.begin() + at, some.end());
    return static_cast<double>(some[static_cast<std::size_t>(at)]);
}

// The usual level around each moment: the upper quartile within 3 s, never more than 12 dB under
// that of the whole.
std::vector<float> usual(const std::vector<float>& values, Seconds hop) {
    const std::size_t n = values.size();
    std::vector<float> out(n);
    if (n == 0) return out;
    const auto reach = static_cast<std::size_t>(3.0 / hop.value());
    const auto stride = static_cast<std::size_t>(0.25 / hop.value()) + 1;
    const double whole = upper_quartile(values, 0, n);
    for (std::size_t i = 0; i < n; i += stride) {
        const std::size_t from = i > reach ? i - reach : 0;
        const double here = upper_quartile(values, from, std::min(n, i + reach));
        const auto v = static_cast<float>(std::max(here, whole - 12.0));
        for (std::size_t k = i; k < std::min(n, i + stride); ++k)
            out[k] = v;
    }
    return out;
}

template <std::size_t N>
double mixed(const std::array<float, N>& alone, const std::array<float, N>& crowd,
             const std::array<float, N>& measures, float clean) {
    double sum = 0.0;
    for (std::size_t k = 0; k < N; ++k) {
        sum += static_cast<double>((clean * alone[k] + (1.0F - clean) * crowd[k]) * measures[k]);
    }
    return sum;
}

float clipped(double v, double lo, double hi) {
    return static_cast<float>(std::clamp(v, lo, hi));
}

// 1 where some moment within `reach` repeats itself all but exactly, 0 where none does by 60 %.
float clean_around(std::span<const float> periodicity, std::size_t i, std::size_t reach) {
    const std::size_t from = i > reach ? i - reach : 0;
    const std::size_t to = std::min(periodicity.size(), i + reach + 1);
    float best = 0.0F;
    for (std::size_t k = from; k < to; ++k)
        best = std::max(best, periodicity[k]);
    return std::clamp((best - 0.6F) / 0.35F, 0.0F, 1.0F);
}

// A hypothesis seen as part of a thread: the same pitch, gliding, from moment to moment.
struct Thread {
    double loudest = -120.0;  // since it began, forgetting 12 dB a second; dB
    double before = -120.0;   // how loud it was 20 ms ago
    double age = 0.0;         // seconds
};
constexpr double forgets = 12.0;
constexpr float sounding_range = 25.0F;   // dB
constexpr std::size_t longest_break = 4;  // moments

std::vector<std::vector<Thread>> threads_of(std::span<const Moment> moments, Seconds hop) {
    std::vector<std::vector<Thread>> out(moments.size());
    const auto near = static_cast<std::size_t>(std::max(1.0, std::round(0.02 / hop.value())));
    for (std::size_t i = 0; i < moments.size(); ++i) {
        for (const Hypothesis& h : moments[i].hypotheses) {
            Thread t;
            t.loudest = decibels_of(h.fit.amplitude);
            for (std::size_t back = 1; back <= std::min(i, longest_break); ++back) {
                const Moment& m = moments[i - back];
                double nearest = 0.03 + 0.005 * static_cast<double>(back);
                const Thread* older = nullptr;
                for (std::size_t k = 0; k < m.hypotheses.size(); ++k) {
                    const double off = std::abs(m.hypotheses[k].hz / h.hz - 1.0);
                    if (off >= nearest) continue;
                    nearest = off;
                    older = &out[i - back][k];
                }
                if (!older) continue;
                const double passed = hop.value() * static_cast<double>(back);
                t.loudest = std::max(t.loudest, older->loudest - forgets * passed);
                t.age = older->age + passed;
                break;
            }
            for (std::size_t back = near; back <= std::min(i, near + 1); ++back) {
                for (const Hypothesis& o : moments[i - back].hypotheses) {
                    if (std::abs(o.hz / h.hz - 1.0) < 0.03) {
                        t.before = std::max(t.before, decibels_of(o.fit.amplitude));
                    }
                }
            }
            out[i].push_back(t);
        }
    }
    return out;
}

// How much each moment's surroundings sound as one voice alone: 1 where, within 2 s, three in four
// of the moments that sound repeat themselves all but exactly, 0 where one in four does not by 90
// %.
std::vector<float> alone_for_long(std::span<const float> periodicity, std::span<const float> level,
                                  Seconds hop) {
    const std::size_t n = periodicity.size();
    const auto reach = static_cast<std::size_t>(2.0 / hop.value());
    const auto stride = static_cast<std::size_t>(0.25 / hop.value()) + 1;
    std::vector<float> out(n, 0.0F);
    std::vector<float> some;
    for (std::size_t i = 0; i < n; i += stride) {
        const std::size_t from = i > reach ? i - reach : 0;
        const std::size_t to = std::min(n, i + reach);
        float loudest = -120.0F;
        for (std::size_t k = from; k < to; ++k)
            loudest = std::max(loudest, level[k]);
        some.clear();
        for (std::size_t k = from; k < to; k += 2) {
            if (level[k] > loudest - sounding_range) some.push_back(periodicity[k]);
        }
        if (some.empty()) continue;
        const auto quarter = some.begin() + static_cast<std::ptrdiff_t>(some.size() / 4);
        std::nth_element(some.begin(), quarter, some.end());
        const float alone = std::clamp((*quarter - 0.9F) / 0.07F, 0.0F, 1.0F);
        std::fill(out.begin() + static_cast<std::ptrdiff_t>(i),
                  out.begin() + static_cast<std::ptrdiff_t>(std::min(n, i + stride)), alone);
    }
    return out;
}

// What the network says of a pitch: its chance, and its share of all pitches' chances. Of a voice
// alone it is not asked: it has seen plucked strings only, but whatever sings alone is the lead.
void ask(const LeadView& view, Seconds t, Pitch p, PitchMeasures& v) {
    const double chance = view.sounds(t, p);
    const double any = 1.0 - view.rests(t);
    v[36] = static_cast<float>(std::log(chance + 1e-5) / 5.0);
    v[37] = static_cast<float>(chance);
    v[38] = static_cast<float>(std::log((chance + 1e-4) / (any + 1e-4)) / 5.0);
    v[39] = p < lead_lowest || p > lead_highest ? 1.0F : 0.0F;
}

// That nobody sounds, or a lead outside the register, which is another's.
void ask_rest(const LeadView& view, Seconds t, const PitchGrid& grid, SilenceMeasures& s) {
    const Pitch high = grid.pitch(grid.bins - 1) - Cents(1200.0);
    const double rest = view.rests(t) + view.sounds_outside(t, grid.lowest, high + Cents(100.0));
    s[16] = static_cast<float>(std::log(rest + 1e-5) / 5.0);
    s[17] = static_cast<float>(rest);
}

}  // namespace

std::vector<MomentMeasures> measure(std::span<const Moment> moments, Seconds hop,
                                    const LeadView* view, const PitchGrid& grid,
                                    KnownPitches known) {
    const std::size_t n = moments.size();
    std::vector<float> loudest(n, -120.0F);
    std::vector<float> strongest(n, -120.0F);
    std::vector<float> level(n);
    std::vector<float> periodicity(n, 0.0F);
    for (std::size_t i = 0; i < n; ++i) {
        level[i] = static_cast<float>(moments[i].brief_level);
        for (const Hypothesis& h : moments[i].hypotheses) {
            loudest[i] = std::max(loudest[i], static_cast<float>(decibels_of(h.fit.amplitude)));
            periodicity[i] = std::max(periodicity[i], static_cast<float>(1.0 - h.aperiodicity));
            strongest[i] = std::max(strongest[i], static_cast<float>(decibels_of(h.fit.strength)));
        }
    }
    const std::vector<float> usual_loudest = usual(loudest, hop);
    const std::vector<float> usual_strongest = usual(strongest, hop);
    const std::vector<float> usual_level = usual(level, hop);
    const auto frames = [&](double seconds) {
        return static_cast<std::size_t>(std::lround(seconds / hop.value()));
    };
    const std::size_t back = frames(0.2);
    const std::size_t near = std::max<std::size_t>(1, frames(0.02));
    const std::size_t close = std::max<std::size_t>(1, frames(0.035));

    std::vector<float> alone(n, 0.0F);
    if (view) alone = alone_for_long(periodicity, level, hop);
    const std::vector<std::vector<Thread>> threads = threads_of(moments, hop);
    const Portrait lead = portrait_of(moments, known);
    // The network has its own likeness of the lead, taught by the same moments; its word and the
    // timbre's together would count the same twice.
    const std::optional<Timbre> timbre = view ? std::nullopt : Timbre::learn(moments, known);

    std::vector<MomentMeasures> out(n);
    for (std::size_t i = 0; i < n; ++i) {
        const Moment& m = moments[i];
        const double here = level[i];
        const auto loudest_level = [&](std::size_t from, std::size_t to) {
            return static_cast<double>(
                *std::max_element(level.begin() + static_cast<std::ptrdiff_t>(from),
                                  level.begin() + static_cast<std::ptrdiff_t>(std::min(n, to))));
        };
        const double drop = here - loudest_level(i > back ? i - back : 0, i + 1);
        const double fell = loudest_level(i > close ? i - close : 0, i + 1) - here;
        const double rises = loudest_level(i, i + close + 1) - here;
        const double dip = std::min(fell, rises);
        const Moment& before = moments[i >= near ? i - near : 0];
        const Moment& after = moments[std::min(n - 1, i + near)];
        const auto clean = static_cast<double>(periodicity[i]);
        double best_dip = 0.0;
        for (const Hypothesis& h : m.hypotheses)
            best_dip = std::max(best_dip, h.probability);
        out[i].clean = clean_around(periodicity, i, frames(0.1));

        for (std::size_t which = 0; which < m.hypotheses.size(); ++which) {
            const Hypothesis& h = m.hypotheses[which];
            const Thread& thread = threads[i][which];
            const HarmonicFit& f = h.fit;
            const double key = pitch_of(Hertz(h.hz)).value();
            const double strong = decibels_of(f.strength);
            const double loud = decibels_of(f.amplitude);
            const double periodic = std::max(0.0, 1.0 - h.aperiodicity);
            const auto usual_loud = static_cast<double>(usual_loudest[i]);
            PitchMeasures v{};
            v[0] = 1.0F;
            // Strength and loudness against the strongest of the moment and against the usual.
            v[1] = clipped((strong - static_cast<double>(strongest[i])) / 10.0, -3.0, 0.0);
            v[2] = clipped((strong - static_cast<double>(usual_strongest[i])) / 10.0, -3.0, 1.0);
            v[3] = clipped((loud - static_cast<double>(loudest[i])) / 10.0, -4.0, 0.0);
            v[4] = clipped((loud - usual_loud) / 10.0, -4.0, 1.0);
            v[5] = clipped((loud - usual_loud) / 10.0 + 0.6, -3.0, 0.0);
            // How much of the sound repeats at this period, and whether it would at half of it.
            v[6] = static_cast<float>(periodic);
            v[7] = static_cast<float>(periodic * periodic);
            v[8] = clipped(h.half_aperiodicity - h.aperiodicity, -0.5, 1.0);
            v[9] = h.dip ? 1.0F : 0.0F;
            v[10] = static_cast<float>(h.probability);
            // The shape of its harmonics.
            v[11] = static_cast<float>(f.odd_share);
            v[12] = clipped(f.between, 0.0, 1.5);
            v[13] = clipped(f.thirds, 0.0, 2.0);
            v[14] = static_cast<float>(f.filled);
            v[15] = static_cast<float>(f.first_share);
            v[16] = clipped(f.brightness, 0.0, 4.0);
            // Where a soloist plays.
            v[17] = clipped((key - 64.0) / 12.0, -3.0, 3.0);
            v[18] = v[17] * v[17];
            v[19] = clipped((52.0 - key) / 12.0, 0.0, 2.0);
            // How this pitch grew and faded lately.
            v[20] = clipped((loud - thread.loudest) / 20.0, -2.0, 0.0);
            v[21] = clipped((loud - thread.before) / 20.0, -1.0, 1.0);
            v[22] = clipped(2.0 * thread.age, 0.0, 1.0);
            v[23] = clipped(f.place_spread, 0.0, 1.0);
            v[24] = v[20] * static_cast<float>(periodic);
            v[25] = f.strength >= 0.999 * std::pow(10.0, static_cast<double>(strongest[i]) / 20.0)
                        ? 1.0F
                        : 0.0F;
            v[26] = clipped(1.0 + 0.5 * std::log10(h.probability + 0.01), 0.0, 1.0);
            v[27] = static_cast<float>(std::log10(h.aperiodicity + 0.01));
            // Its share of the whole sound: little of a noise lies on the partials of one pitch.
            v[28] = clipped((loud - 3.0 - m.level) / 10.0, -2.0, 0.5);
            v[29] = clipped(f.thirds + f.between - 0.3, 0.0, 1.0);
            v[30] = clipped((thread.loudest - usual_loud) / 10.0, -4.0, 1.0);
            v[31] = clipped((thread.loudest - usual_loud) / 10.0 + 0.6, -3.0, 0.0);
            // How far it is from what the soloist is likely to be.
            v[32] = clipped(std::abs(f.place - lead.place), 0.0, 1.5);
            v[33] = clipped(std::abs(f.brightness - lead.brightness), 0.0, 2.0);
            v[34] = clipped(f.first_share - lead.first_share, -1.0, 1.0);
            v[35] = v[20] * v[22];
            if (view && alone[i] < 1.0F) {
                ask(*view, hop * static_cast<double>(i), pitch_of(Hertz(h.hz)), v);
                for (std::size_t k = network_pitch_measures; k < pitch_measures; ++k)
                    v[k] *= 1.0F - alone[i];
            }
            if (timbre) out[i].timbre.push_back(static_cast<float>(timbre->odds(m, h)));
            out[i].pitches.push_back(v);
        }
        SilenceMeasures& s = out[i].silence;
        s[0] = 1.0F;
        // Quieter than usual, and than just before; fallen and about to rise.
        s[1] = clipped((here - static_cast<double>(usual_level[i])) / 10.0, -4.0, 1.0);
        s[2] = clipped((here - static_cast<double>(usual_level[i])) / 10.0 + 1.2, -3.0, 0.0);
        s[3] = clipped(drop / 20.0, -2.0, 0.0);
        s[4] = clipped(drop / 20.0 + 0.4, -2.0, 0.0);
        s[5] = clipped(fell / 10.0, 0.0, 2.0);
        s[6] = clipped(fell / 10.0 - 0.5, 0.0, 2.0);
        s[7] = clipped(rises / 10.0, 0.0, 2.0);
        s[8] = clipped(dip / 10.0, 0.0, 2.0);
        s[9] = clipped(dip / 10.0 - 0.5, 0.0, 2.0);
        s[10] = clipped((after.brief_level - before.brief_level) / 20.0, -1.0, 1.0);
        // How noisy.
        s[11] = static_cast<float>(clean);
        s[12] = static_cast<float>(clean * clean);
        s[14] = static_cast<float>(best_dip);
        s[15] = static_cast<float>(std::log10(best_dip + 0.01));
        s[13] = clipped((static_cast<double>(strongest[i] - usual_strongest[i])) / 10.0, -3.0, 1.0);
        if (view && alone[i] < 1.0F) {
            ask_rest(*view, hop * static_cast<double>(i), grid, s);
            for (std::size_t k = network_silence_measures; k < silence_measures; ++k)
                s[k] *= 1.0F - alone[i];
        }
    }
    return out;
}

std::vector<FrameEvidence> weigh(std::span<const Moment> moments,
                                 std::span<const MomentMeasures> measures,
                                 const EvidenceModel& model, const PitchGrid& grid, double trust) {
    std::vector<FrameEvidence> out(moments.size());
    for (std::size_t i = 0; i < moments.size(); ++i) {
        FrameEvidence& e = out[i];
        const std::vector<Hypothesis>& list = moments[i].hypotheses;
        if (list.empty()) {
            e.silent = 1.0F;
            e.anywhere = 1e-4F;
            continue;
        }
        const MomentMeasures& m = measures[i];
        const double silence = mixed(model.alone.silence, model.crowd.silence, m.silence, m.clean);
        double best = silence;
        std::vector<double> score;
        for (std::size_t h = 0; h < m.pitches.size(); ++h) {
            score.push_back(mixed(model.alone.pitch, model.crowd.pitch, m.pitches[h], m.clean));
            if (!m.timbre.empty()) score.back() += static_cast<double>(m.timbre[h]);
            best = std::max(best, score.back());
        }
        double sum = std::exp(silence - best);
        for (const double s : score)
            sum += std::exp(s - best);
        // A sound alone is heard through windows hardly longer than the hop; a crowd through long
        // ones.
        const double power = trust + (1.0 - trust) * static_cast<double>(m.clean);
        const auto soft = [&](double v) { return std::pow(std::exp(v - best) / sum, power); };
        e.silent = static_cast<float>(soft(silence));
        e.anywhere = static_cast<float>(std::pow(0.003, power));
        for (std::size_t h = 0; h < list.size(); ++h) {
            const auto bin = static_cast<std::ptrdiff_t>(grid.bin_of(pitch_of(Hertz(list[h].hz))));
            const double p = soft(score[h]);
            for (int k = -3; k <= 3; ++k) {
                const std::ptrdiff_t at = bin + k;
                if (at < 0 || at >= static_cast<std::ptrdiff_t>(grid.bins)) continue;
                const double share = 1.0 - 0.06 * k * k;
                e.heard.push_back({static_cast<std::size_t>(at), static_cast<float>(p * share)});
            }
        }
    }
    return out;
}

const EvidenceModel& fitted_model(bool with_network) {
    static const EvidenceModel with = fitted_weights;
    static const EvidenceModel without = classical_weights;
    return with_network ? with : without;
}

}  // namespace bentline
