// Finds attacks on the line, to the frame, ahead of the place where they are needed.
//
// Two steps. Candidates: the mean rise of band levels over two short spectra, each band against the
// louder of its neighbours before, so that vibrato and bends are no rises (Boeck & Widmer 2013,
// "Maximum filter vibrato suppression for onset detection"). Proof and place: what a linear
// predictor trained on the sound just before cannot predict (Bello et al. 2005, "A tutorial on
// onset detection in music signals", III.B.2, on innovation); where that leaps there is an attack,
// and it begins where the leap begins. A sounding chord, beating, bent or shaken, goes on being
// predicted; a string struck again does not.
#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "engine/listening/line_buffer.h"
#include "engine/transform/fft.h"

namespace bentline {

struct AttackSettings {
    Seconds frame{0.0232};     // length of a short spectrum (1024 at 44.1 kHz)
    Seconds hop{0.0058};       // between them
    Decibels rise{0.8};        // mean rise over two hops that makes a candidate
    Decibels proof{1.9};       // least rise of an attack, of which the leap pays a share
    double leap_share = 0.25;  // of the leap of what is not predicted
    Decibels sharp{
        12.0};            // from this leap on its first frame is taken; below, the likeliest change
    Seconds lead{0.001};  // a soft attack begins this much before its likeliest change
    Decibels depth{50.0};     // bands this far below the loudest of late are not looked at
    Decibels floor{-80.0};    // nor are bands below this
    Seconds training{0.035};  // of the predictor
    Seconds apart{0.025};     // no two attacks closer than this
};

class AttackFinder {
  public:
    // Allocates. [any]
    AttackFinder(SampleRate rate, const AttackSettings& settings = {});

    // Forgets all; the line begins at `from`.
    void restart(std::int64_t from);
    // Forgets what was found at and after `from`.
    void forget(std::int64_t from);
    // Looks as far as the buffer's content allows. Attacks before known() are final. [audio]
    void look(const LineBuffer& line);
    std::int64_t known() const { return known_; }
    // How many frames beyond a place must be in the buffer for known() to reach it.
    std::int64_t reach() const { return reach_; }

    // The first attack at or after `from`, or none before known().
    static constexpr std::int64_t none = INT64_MAX;
    std::int64_t next(std::int64_t from) const;

  private:
    static constexpr std::size_t bands = 48;
    static constexpr std::size_t history = 16;  // a power of two
    static constexpr std::size_t order = 32;
    using Levels = std::array<float, bands>;

    Levels measure(const LineBuffer& line, std::int64_t centre);
    float rise(std::int64_t hop_index);
    void consider(const LineBuffer& line, std::int64_t about, double rise);
    std::int64_t change(std::int64_t first, std::int64_t last) const;
    void train(std::size_t frames);
    void mix(const LineBuffer& line, std::int64_t from, std::span<float> out);

    AttackSettings settings_;
    std::int64_t hop_;
    std::int64_t size_;
    std::int64_t training_;
    std::int64_t search_;  // frames searched for the leap
    std::int64_t apart_;
    std::int64_t lead_;
    std::int64_t reach_;
    RealFft fft_;
    std::vector<float> window_;
    std::vector<float> frame_;
    std::vector<float> other_;
    std::vector<std::complex<float>> spectrum_;
    std::vector<std::size_t> edges_;
    std::array<Levels, history> levels_{};  // by hop index
    std::array<float, history> rises_{};
    float loudest_ = -200.0F;
    std::int64_t next_hop_ = 0;  // hop index to measure next
    std::int64_t first_hop_ = 0;
    std::vector<float> stretch_;  // training and search, in one piece
    std::vector<float> shaped_;
    std::array<float, order> predictor_{};
    std::vector<float> missed_;             // what was not predicted
    std::array<std::int64_t, 32> found_{};  // ring of the latest attacks
    std::size_t found_count_ = 0;
    std::int64_t known_ = 0;
};

}  // namespace bentline
