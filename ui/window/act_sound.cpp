// The bridge to the player: what it is given, the device, and what comes back from it.
#include <algorithm>
#include <utility>

#include "engine/sound/draft_voice.h"
#include "ui/window/desk_inside.h"

namespace bentline::window {
namespace {

// Short, for the transport.
constexpr const char* no_device = "no sound device";
constexpr const char* held_device = "choose an output";

}  // namespace

void Desk::Inside::load_player() {
    if (!heard_sound) return;
    if (!player) player.emplace();
    // Most devices play the recording's own rate: what is made for it need not be made anew.
    if (player->state() == DeviceState::closed) player->core().set_device_rate(heard_sound->rate);
    player->core().load(heard_sound);
    send_part();
    send_all_settings();
}

void Desk::Inside::send_all_settings() {
    send_play_settings();
    set_loop(state.play.loop);
    seek(state.play.at);
}

void Desk::Inside::hear(std::shared_ptr<const Audio> sound) {
    const std::shared_ptr<const Audio> before = std::exchange(heard_sound, std::move(sound));
    const bool more =
        before && player && before->rate == heard_sound->rate &&
        before->channels.size() == heard_sound->channels.size() &&
        before->start >= heard_sound->start &&
        before->start + before->length() <= heard_sound->start + heard_sound->length();
    if (!more) return load_player();
    player->core().extend(heard_sound);
    const Seconds end = before->start_time() + before->duration();
    const auto& loop = state.play.loop;
    if (loop && (loop->from < before->start_time() || loop->to > end)) set_loop(loop);
    if (!waits_at) return;
    seek(*waits_at);
    heard_playing = false;
    if (state.play.playing) player->core().play();
}

void Desk::Inside::send_play_settings() {
    if (!player) return;
    PlayerCore& core = player->core();
    core.speed(state.play.speed);
    if (state.play.trainer) core.trainer(*state.play.trainer);
    core.retune(state.play.retune);
    core.level(state.play.level);
    core.balance(state.play.balance);
    core.split(state.play.apart);
    if (state.play.focus_only) {
        core.focus(state.draft.focus);
    } else {
        core.focus_off();
    }
}

void Desk::Inside::send_part() {
    if (!player || !played_part) return;
    player->core().second(std::make_unique<DraftVoice>(played_part, player->core().device_rate()));
}

void Desk::Inside::on(const intents::SetBalance& i) {
    state.play.balance = std::clamp(i.balance, 0.0, 1.0);
    if (player) player->core().balance(state.play.balance);
}

void Desk::Inside::on(const intents::HearApart& i) {
    state.play.apart = i.on;
    if (player) player->core().split(i.on);
}

void Desk::Inside::tick_player() {
    if (!player || !device_open) return;
    player->poll();
    const bool held = player->state() == DeviceState::held;
    const bool lost = held || player->state() == DeviceState::lost;
    const bool was_lost = !state.play.trouble.empty();
    if (held && state.play.trouble != held_device) {
        say("The sound server is gone and does not let go; nothing is lost. Choose another output "
            "under Practice, or save and open the window again");
    } else if (lost && !was_lost) {
        say("The sound device is gone; nothing is lost. Playing goes on when it is back, or choose "
            "another one under Practice");
    } else if (!lost && was_lost) {
        say("The sound device is back");
        // What was asked for meanwhile may have been more than the queue holds.
        send_all_settings();
    }
    state.play.trouble = held ? held_device : lost ? no_device : "";
    player->core().collect();
    if (!heard_sound || !state.play.playing || waits_at) return;
    const PlayerStatus status = player->core().status();
    if (status.playing) heard_playing = true;
    if (!heard_playing) return;
    state.play.at = to_seconds(status.place, heard_sound->rate);
    if (!status.playing && !audio) {
        waits_at = state.play.at;  // the end of what is read so far
    } else if (!status.playing) {
        state.play.playing = false;  // the end was reached
    }
    state.play.speed = status.speed;
    state.play.round = status.round;
    follow_play();
}

void Desk::Inside::follow_play() {
    const bool in_view = state.look.contains(state.play.at);
    // Whoever looks elsewhere while it plays is left there, until the play line comes by.
    if (!in_view && !(state.look == followed)) return;
    const bool loop_in_view = state.play.loop && state.play.loop->to <= state.look.to && in_view;
    const Seconds length = state.look.to - state.look.from;
    if (!in_view || (!loop_in_view && state.play.at > state.look.to - length * 0.08)) {
        look_at({state.play.at - length * 0.08, state.play.at + length * 0.92});
    }
    followed = state.look;
}

void Desk::Inside::on(const intents::PlayStop&) {
    if (!heard_sound)
        return refuse(state.open ? "The recording is not read yet, or not here"
                                 : "Open a recording first");
    if (state.play.playing) {
        state.play.playing = false;
        if (player) player->core().pause();
        return;
    }
    if (!open_device()) return;
    heard_playing = false;
    state.play.playing = true;
    keep_in_view({state.play.at, state.play.at});
    followed = state.look;
    if (waits_at) return;  // until that place is read
    CountIn count;
    if (state.play.count_in > 0) {
        const Seconds beat =
            state.draft.bars
                ? beat_length(state.draft.bars->tempo_at(state.draft.bars->beats_at(state.play.at)))
                : Seconds(0.5);
        count = {state.play.count_in, heard(beat, state.play.speed)};
    }
    player->core().play(count);
}

bool Desk::Inside::open_device() {
    if (settings.sound == Sound::off) {
        refuse("The sound is off in this session");
        return false;
    }
    if (!player) load_player();
    if (device_open) return true;
    if (settings.sound == Sound::by_hand) {
        player->core().set_device_rate(heard_sound->rate);
        device_open = true;
        send_all_settings();
        return true;
    }
    PlayerSettings wanted;
    wanted.device = state.play.device;
    Result<Done> opened = player->open(wanted, heard_sound->rate);
    if (!opened && !wanted.device.empty()) {
        // The one from another evening is not here: the system's own choice is better than silence.
        wanted.device.clear();
        opened = player->open(wanted, heard_sound->rate);
        if (opened)
            say("The output '" + state.play.device + "' is not here; playing on " +
                player->device() + ". Another can be chosen under Practice");
    }
    if (!opened) {
        state.play.trouble = no_device;
        fail(opened.failure());
        return false;
    }
    device_open = true;
    send_all_settings();
    return true;
}

void Desk::Inside::on(const intents::SetCountIn& i) {
    state.play.count_in = std::clamp(i.clicks, 0, 16);
}

void Desk::Inside::on(const intents::SetTrainer& i) {
    if (!state.play.loop)
        return refuse("The speed rises as a loop goes round: choose a loop first");
    SpeedTrainer trainer{std::clamp(i.start, 0.1, 2.0), std::clamp(i.step, 0.01, 0.5),
                         std::clamp(i.rounds, 1, 16), std::clamp(i.end, 0.1, 2.0)};
    trainer.end = std::max(trainer.end, trainer.start);
    state.play.trainer = trainer;
    state.play.speed = trainer.start;
    if (player) player->core().trainer(trainer);
}

void Desk::Inside::on(const intents::TrainerOff&) {
    state.play.trainer.reset();
    if (player) player->core().trainer_off();
}

void Desk::Inside::on(const intents::ChooseDevice& i) {
    state.play.device = i.device;
    state.remembered.device = i.device;
    if (!device_open) return;
    const bool was_playing = state.play.playing;
    state.play.playing = false;
    player->core().pause();
    player->close();
    device_open = false;
    state.play.trouble.clear();
    if (!open_device()) return;
    if (settings.sound == Sound::device && (i.device.empty() || player->device() == i.device))
        say("Sound goes to " + player->device());
    if (was_playing) on(intents::PlayStop{});
}

}  // namespace bentline::window
