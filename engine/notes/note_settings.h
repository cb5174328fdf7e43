// Settings of the note stage: every threshold and prior that turns a pitch line into notes.
#pragma once

#include "engine/units.h"

namespace bentline {

// Log-odds are natural logarithms. "Chosen" marks a value set by listening and by generated phrases
// with known notes (tests/corpus), not by a published figure.
struct NoteSettings {
    // --- attacks -------------------------------------------------------------------------------
    // Frames between which spectra are compared. Böck & Widmer 2013 use 5 ms frames, 200 a second.
    Seconds flux_hop{0.005};  // 0.002 to 0.01
    Seconds flux_window{
        0.0232};              // 0.01 to 0.05; 1024 frames at 44.1 kHz: short enough for 35 ms notes
    Seconds flux_lag{0.010};  // 0.005 to 0.03; half a window, as Böck & Widmer place it
    int bands_per_octave = 24;  // 12 to 48; Böck & Widmer 2013
    // A boundary with at least these log-odds of a pluck counts as struck.
    double struck_log_odds = 0.0;  // -4 to 4; even odds
    // How much later than its pluck the tracker may come in.
    Seconds latest_tracker{0.14};  // 0.05 to 0.2
    // Two plucks closer than this are one: a sweep's fastest notes are 30 ms (common practice, no
    // source).
    Seconds closest_plucks{0.024};  // 0.015 to 0.05
    // Two strokes on one pitch closer than this are one: the fastest picking of a string is some 16
    // strokes a second (common practice, no source).
    Seconds fastest_repeat{0.04};  // 0.03 to 0.06

    // --- the fine pitch line ---------------------------------------------------------------------
    Seconds line_hop{0.0025};  // 0.001 to 0.005
    Seconds line_window{
        0.008};               // 0.005 to 0.03; the shortest stretch compared with its shifted self
    Seconds line_lag{0.005};  // 0.003 to 0.02; whole periods are counted off until at least this
    // Below this self-similarity the tracker's own value stands. Chosen on generated bands, where
    // it lies by the soloist's lower partials and another sound pulls at the reading here.
    double line_quality = 0.96;        // 0 to 1
    double line_quality_alone = 0.55;  // 0 to 1; the same where the lead is heard alone
    double tracker_share = 0.7;  // 0 to 1; what a sure value of the tracker counts against a clear
                                 // reading of the line's own: it looks through a longer window

    double leaning_quality =
        0.8;  // 0 to 1; what the tracker only leans towards must be as alike as this

    // --- steady and moving (semi-Markov pieces) --------------------------------------------------
    Cents steady_spread{6.0};   // 2 to 15; scatter of a held note around its pitch, chosen
    Cents moving_spread{10.0};  // 4 to 30; scatter around a straight glide, chosen
    double points_per_line_window = 1.0;  // 0.3 to 3; independent readings in one analysis window
    double steady_cost = 7.0;             // 2 to 20 nats; prior cost of one more steady piece
    double moving_cost = 8.0;             // 2 to 20 nats; prior cost of one more glide
    Seconds longest_piece{1.5};           // 0.5 to 4; longer notes are joined from pieces
    Seconds longest_glide{0.8};           // 0.2 to 1.5

    // --- from plateaus to notes
    // --------------------------------------------------------------------
    Seconds step_time{0.024};      // 0.01 to 0.05; a move quicker than this is a step (line blur)
    Seconds shortest_note{0.024};  // 0.015 to 0.05
    Seconds longest_slide_start{
        0.125};                       // 0.05 to 0.2; a slide in leaves its first fret within this
    Seconds sooner_if_pushed{0.02};   // 0 to 0.04; that limit falls so much for each dB of a push
    Seconds longest_slide_end{0.11};  // 0.05 to 0.2; a slide out stays on no fret longer than this
    Seconds longest_stair{0.07};      // 0.04 to 0.1; a slide stays on no fret that it passes longer
    Seconds fastest_fret{
        0.011};  // 0.005 to 0.02; a slide takes at least this for each fret it passes
    // A pluck pulls the string sharp, and it settles: no more than this, within this time.
    Cents settling{62.0};              // 20 to 80
    Seconds settling_time{0.075};      // 0.03 to 0.12
    Seconds shortest_slide_on{0.16};   // 0.05 to 0.3; one fret on from a shorter note is a slur
    Decibels slur_push{0.5};           // 0 to 3; a hammered note is pushed on by at least this
    Seconds bridged_gap{0.03};         // 0.01 to 0.08; unvoiced holes inside one note
    Cents largest_bend{350.0};         // 200 to 400; a whole tone and a half, and a margin
    Cents smallest_bend{22.0};         // 10 to 40; half a quarter tone
    Cents smallest_prebend{38.0};      // 20 to 60; less is the attack's own settling
    Seconds trill_longest_turn{0.16};  // 0.08 to 0.25; time on one of the two notes

    // --- vibrato
    // -----------------------------------------------------------------------------------
    Hertz slowest_vibrato{3.5};     // 2 to 5;  Timmers & Desain 2000 and Prame 1994 give 5 to 8 Hz;
    Hertz fastest_vibrato{9.0};     // 7 to 12; guitarists go down to 4 (common practice, no source)
    Cents shallowest_vibrato{6.0};  // 3 to 20
    double vibrato_cycles = 1.6;    // 1 to 4; fewer cycles than this are not called vibrato
    double vibrato_fit = 0.6;  // 0 to 1; share of the detrended line's variance that the sine takes

    // --- length and weight
    // -------------------------------------------------------------------------
    double staccato_share = 0.55;    // 0.2 to 0.8; of the way to the next onset, at most
    Seconds staccato_longest{0.22};  // 0.1 to 0.4
    Seconds staccato_silence{0.05};  // 0.02 to 0.2; silence after it, at least
    Decibels accent_rise{3.0};       // 2 to 9; above the middle of the neighbours, to be weighed
    int accent_neighbours = 4;       // 2 to 8 on each side
    Decibels damping_drop{9.0};      // 4 to 20; fall below the note's own decay that ends it
    Seconds damping_time{0.04};      // 0.02 to 0.1; within which it falls

    // Notes less likely than this are not pencilled.
    double least_confidence =
        0.4;  // 0 to 0.9; near half the F-score, where F is greatest (Lipton 2014)
    double least_inflection = 0.4;  // 0 to 0.9; the same for inflections
    // Where something begins that is too unlikely for a note, but as likely as this, no silence
    // goes on.
    double least_doubt = 0.1;  // 0 to least_confidence; chosen
};

}  // namespace bentline
