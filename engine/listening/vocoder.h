// Steady sound at another speed: a phase-locked vocoder whose frames stop at attacks.
//
// Frames of the line, centred at c, are laid down centred at T in the output. The rotation of a
// partial is what its phase gains while the delay T - c grows: theta += omega * d(T - c), with
// omega from the phase's own advance between two frames, so that errors do not add up. It is found
// at each spectral peak and given to the whole region round the peak (identity phase locking,
// Laroche & Dolson 1999, "Improved phase vocoder time-scale modification of audio", section III.B),
// one rotation for all channels from the sum of their cross spectra, so that the stereo image
// stands.
//
// Attacks (attacks.h): no frame reaches across one. Up to it, frames are cut short on the right; at
// it lies one frame that ends there and one that begins there; after it, frames are cut short on
// the left (window-shape switching as in transform coders, Edler 1989). The beginning frame is laid
// down as it was recorded, its rotations set to zero where the attack brings new energy (phase
// reset at transients, Roebel 2003, "A new approach to transient processing in the phase vocoder"),
// and kept where a partial merely sounds on. So an attack sounds once, at its own length, without
// pre-echo.
//
// Noise (noise_finder.h): where a spectrum is like noise, nothing is rotated; new noise of the same
// level and stage place is laid down, so that it does not warble (vocoder_noise.cpp). Partials that
// stand out of it keep their rotation.
//
// At speed 1 with nothing rotated the line itself is put out, sample for sample.
#pragma once

#include <array>
#include <complex>
#include <cstdint>
#include <span>
#include <vector>

#include "engine/listening/attacks.h"
#include "engine/listening/line_buffer.h"
#include "engine/listening/noise_finder.h"
#include "engine/transform/fft.h"

namespace bentline {

struct VocoderSettings {
    Seconds window{0.080};  // length of a full frame (3600 at 44.1 kHz)
    int overlap = 8;        // full frames over one place of the output
    Seconds edge{0.0011};   // cross-fade at an attack
    Seconds attack{0.018};  // of the line that keeps its own speed after an attack
    Seconds settle{0.060};  // time constant of the way back to the even course
    Seconds guard{0.003};   // after an attack, what only its own frame lays down
    Decibels fresh{2.0};    // a region that rises by more than this at an attack is laid down anew
    double even = 0.97;     // speed from which noise is laid down like all else,
    double slow = 0.87;     // and up to which it is made anew
    Seconds fade_to_line{0.046};  // cross-fade to the line itself when the speed becomes 1
};

class Vocoder {
  public:
    // Allocates; nothing else does. [any]
    Vocoder(SampleRate rate, int channels, const VocoderSettings& settings = {});

    // speed: line frames per output frame, 0.05 to 4. [audio]
    void set_speed(double speed);
    // The next output frame is line place `place`. [audio]
    void start(double place);
    // The line has changed at and after the next output frame's place. [audio]
    void reread();
    // [audio]
    void render(FrameSource& line, std::span<float* const> out, std::size_t count);
    // The line place under the next output frame. [audio]
    double place() const { return place_at(next_out_); }
    Frames lookahead() const;

  private:
    enum class Mode { frames, to_line, line };
    enum class Kind { plain, closing, opening };
    struct Anchor {
        std::int64_t out = 0;
        double line = 0.0;
    };
    struct Planned {
        std::int64_t out;     // T
        double place;         // exact line place at T
        std::int64_t centre;  // c
        std::int64_t left;    // half-lengths
        std::int64_t right;
        bool at_attack;
    };

    // What a moving pitch adds to a frame's phase, and to that of overlapped frames at speed 0.
    struct Bend {
        double phase = 0.0;
        double overlap = 0.0;
    };

    double nominal(std::int64_t out) const;
    double lead_at(std::int64_t out) const;
    double place_at(std::int64_t out) const;
    void add_anchor(std::int64_t out, double line);
    Planned plan(FrameSource& line);
    void lay_down(const Planned& p, Kind kind, std::int64_t left, std::int64_t right);
    void analyse(std::int64_t centre, std::int64_t left, std::int64_t right);
    void rotate(const Planned& p, std::int64_t delay, Kind kind);
    void add(std::int64_t out, std::int64_t left, std::int64_t right);
    void put_out(std::span<float* const> out, std::size_t at, std::size_t count);
    void copy_line(FrameSource& line, std::span<float* const> out, std::size_t at,
                   std::size_t count);
    void calibrate_bend();
    Bend bend_at(std::size_t k) const;
    float half_window(std::int64_t i, std::int64_t length) const;
    void renew_noise(std::int64_t out);

    VocoderSettings settings_;
    std::size_t channels_;
    std::int64_t size_;  // N
    std::int64_t half_;
    std::int64_t hop_;
    std::int64_t edge_;
    std::int64_t attack_;
    double settle_;
    std::int64_t guard_;
    std::int64_t fade_;
    double speed_ = 1.0;
    Mode mode_ = Mode::line;

    LineBuffer buffer_;
    AttackFinder attacks_;
    NoiseFinder noise_;
    RealFft fft_;
    std::vector<float> half_table_;  // half a window, finely
    std::vector<float> full_half_;   // half of a full frame's
    using Spectrum = std::vector<std::complex<float>>;
    std::vector<float> time_;
    std::array<Spectrum, 2> now_;
    std::array<Spectrum, 2> before_;
    std::vector<float> power_;
    std::vector<float> power_before_;
    std::vector<float> theta_;
    std::vector<float> omega_;
    std::vector<float> bend_before_;
    double middle_ = 0.0;  // of the window of the frame analysed last, against its centre
    double middle_before_ = 0.0;
    bool whole_ = false;                   // the frame analysed last is of full length
    std::int64_t length_ = 0;              // its length
    std::array<double, 65> bend_phase_{};  // by distance from the bin, 0 to half a bin
    std::array<double, 65> bend_difference_{};
    double bend_overlap_ = 0.0;
    std::vector<std::int32_t> peaks_;
    std::vector<float> share_;                       // of noise, by bin
    bool noisy_ = false;                             // any of it
    std::array<std::vector<double>, 5> noise_sums_;  // running: share, powers, cross spectrum
    std::vector<std::complex<float>> turns_;         // evenly round the circle

    std::array<std::vector<float>, 2> sum_;  // output rings
    std::vector<float> weight_;
    std::size_t out_mask_;

    std::array<Anchor, 64> anchors_{};
    std::size_t anchor_count_ = 0;
    std::int64_t next_out_ = 0;      // next output frame to give
    Anchor base_;                    // the last frame, on the even course of the line
    double lead_ = 0.0;              // how far its centre is ahead of that
    std::int64_t attack_until_ = 0;  // output frame up to which the line keeps its own speed
    std::int64_t last_out_ = 0;      // T of the last frame laid down
    std::int64_t last_centre_ = 0;   // its c
    std::int64_t barrier_ = 0;       // line place of the attack (or start) behind us
    bool have_before_ = false;
    std::int64_t to_line_from_ = 0;  // output frame where the cross-fade to the line begins
    std::int64_t line_delay_ = 0;    // output minus line place while the line itself is put out
};

}  // namespace bentline
