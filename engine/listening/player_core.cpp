// The window's side of the player: commands into the queue, status out of it, old decks freed.
#include "engine/listening/player_core.h"

#include <algorithm>
#include <cassert>
#include <cmath>

#include "engine/listening/player_parts.h"

namespace bentline {

struct PlayerCore::Parts {
    explicit Parts(SampleRate rate) : stage(rate) {}

    PlayerStage stage;
    // What the window knows of the deck that it sent last.
    std::shared_ptr<const Audio> audio;
};

PlayerCore::PlayerCore(SampleRate device_rate) : parts_(std::make_unique<Parts>(device_rate)) {}
PlayerCore::~PlayerCore() {
    collect();
}

void PlayerCore::collect() {
    while (const auto old = parts_->stage.retired.pop())
        delete *old;
    while (const auto old = parts_->stage.retired_seconds.pop())
        delete *old;
    while (const auto old = parts_->stage.retired_sounds.pop())
        delete *old;
}

namespace {
PlayerCommand of(PlayerCommand::Kind kind, double a = 0.0, double b = 0.0) {
    PlayerCommand c;
    c.kind = kind;
    c.a = a;
    c.b = b;
    return c;
}
}  // namespace

bool PlayerCore::load(std::shared_ptr<const Audio> audio) {
    assert(audio && (audio->channels.size() == 1 || audio->channels.size() == 2));
    collect();
    auto deck = std::make_unique<Deck>(audio, parts_->stage.rate);
    PlayerCommand c = of(PlayerCommand::Kind::load);
    c.deck = deck.get();
    if (!parts_->stage.commands.push(c)) return false;
    static_cast<void>(
        deck.release());  // the callback's now; it comes back through the retired queue
    parts_->audio = std::move(audio);
    return true;
}
bool PlayerCore::extend(std::shared_ptr<const Audio> audio) {
    assert(parts_->audio && audio->rate == parts_->audio->rate &&
           audio->channels.size() == parts_->audio->channels.size() &&
           audio->start <= parts_->audio->start &&
           audio->start + audio->length() >= parts_->audio->start + parts_->audio->length());
    collect();
    auto sound = std::make_unique<std::shared_ptr<const Audio>>(audio);
    PlayerCommand c = of(PlayerCommand::Kind::extend);
    c.sound = sound.get();
    if (!parts_->stage.commands.push(c)) return false;
    static_cast<void>(sound.release());  // as in load()
    parts_->audio = std::move(audio);
    return true;
}
bool PlayerCore::play(CountIn count) {
    collect();
    return parts_->stage.commands.push(of(PlayerCommand::Kind::play, std::clamp(count.beats, 0, 64),
                                          std::clamp(count.beat.value(), 0.05, 10.0)));
}
bool PlayerCore::pause() {
    return parts_->stage.commands.push(of(PlayerCommand::Kind::pause));
}
bool PlayerCore::seek(Frames place) {
    return parts_->stage.commands.push(
        of(PlayerCommand::Kind::seek, static_cast<double>(place.value())));
}
bool PlayerCore::loop(FramesRange range) {
    return parts_->stage.commands.push(of(PlayerCommand::Kind::loop,
                                          static_cast<double>(range.from.value()),
                                          static_cast<double>(range.to.value())));
}
bool PlayerCore::loop_off() {
    return parts_->stage.commands.push(of(PlayerCommand::Kind::loop_off));
}
bool PlayerCore::speed(double speed) {
    return parts_->stage.commands.push(
        of(PlayerCommand::Kind::speed, std::clamp(speed, slowest, fastest)));
}
bool PlayerCore::retune(Cents retune) {
    const double most = most_retune.value();
    return parts_->stage.commands.push(
        of(PlayerCommand::Kind::retune, std::clamp(retune.value(), -most, most)));
}
bool PlayerCore::level(Decibels level) {
    return parts_->stage.commands.push(
        of(PlayerCommand::Kind::level, amplitude(std::min(level, most_level))));
}
bool PlayerCore::trainer(SpeedTrainer t) {
    t.start = std::clamp(t.start, slowest, fastest);
    t.end = std::clamp(t.end, slowest, fastest);
    t.rounds = std::max(1, t.rounds);
    PlayerCommand c = of(PlayerCommand::Kind::trainer);
    c.trainer = t;
    return parts_->stage.commands.push(c);
}
bool PlayerCore::trainer_off() {
    return parts_->stage.commands.push(of(PlayerCommand::Kind::trainer_off));
}
bool PlayerCore::focus(const Focus& focus) {
    PlayerCommand c = of(PlayerCommand::Kind::focus);
    c.focus = focus;
    return parts_->stage.commands.push(c);
}
bool PlayerCore::focus_off() {
    return parts_->stage.commands.push(of(PlayerCommand::Kind::focus_off));
}
bool PlayerCore::second(std::unique_ptr<SecondSource> source) {
    collect();
    PlayerCommand c = of(PlayerCommand::Kind::second);
    if (source) source->set_rate(parts_->stage.rate);
    c.second = source.get();
    if (!parts_->stage.commands.push(c)) return false;
    static_cast<void>(source.release());  // as in load()
    return true;
}
bool PlayerCore::balance(double balance) {
    return parts_->stage.commands.push(
        of(PlayerCommand::Kind::balance, std::clamp(balance, 0.0, 1.0)));
}
bool PlayerCore::split(bool apart) {
    return parts_->stage.commands.push(of(PlayerCommand::Kind::split, apart ? 1.0 : 0.0));
}

PlayerStatus PlayerCore::status() const {
    const StatusWords w = parts_->stage.published.read();
    PlayerStatus s;
    s.loaded = w.loaded;
    s.playing = w.playing;
    s.count_in_left = w.count_in_left;
    s.place = Frames(w.place);
    s.round = w.round;
    s.speed = w.speed;
    s.retune = Cents(w.retune);
    if (w.looping) s.loop = FramesRange{Frames(w.loop_from), Frames(w.loop_to)};
    s.peak = Decibels(w.peak);
    s.rms = Decibels(w.rms);
    s.limiter_gain = Decibels(w.limiter_gain);
    s.second = w.second;
    s.balance = w.balance;
    s.split = w.split;
    s.underruns = parts_->stage.underruns.load(std::memory_order_relaxed);
    return s;
}

void PlayerCore::set_device_rate(SampleRate rate) {
    parts_->stage.change_rate(rate);
}
SampleRate PlayerCore::device_rate() const {
    return parts_->stage.rate;
}
void PlayerCore::set_output_latency(Frames latency) {
    parts_->stage.output_latency.store(latency.value(), std::memory_order_relaxed);
}
void PlayerCore::process(std::span<float* const> out, std::size_t count) {
    assert(out.size() == 2);
    parts_->stage.process(out, count);
}
void PlayerCore::count_underrun() {
    parts_->stage.underruns.fetch_add(1, std::memory_order_relaxed);
}

}  // namespace bentline
