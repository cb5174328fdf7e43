// PortAudio behind Player: devices, the stream, its callback, loss and return.
#include "engine/listening/player.h"

#include <algorithm>
#include <array>
#include <atomic>
#include <chrono>
#include <thread>

#include <portaudio.h>

namespace bentline {

namespace {

std::string name_of(const PaDeviceInfo& info) {
    const PaHostApiInfo* api = Pa_GetHostApiInfo(info.hostApi);
    return std::string(api != nullptr ? api->name : "?") + ": " + info.name;
}

// The index of a named output, or of the default one for an empty name; paNoDevice if it is not
// there.
PaDeviceIndex index_of(const std::string& name) {
    if (name.empty()) return Pa_GetDefaultOutputDevice();
    for (PaDeviceIndex i = 0; i < Pa_GetDeviceCount(); ++i) {
        const PaDeviceInfo* info = Pa_GetDeviceInfo(i);
        if (info != nullptr && info->maxOutputChannels > 0 && name_of(*info) == name) return i;
    }
    return paNoDevice;
}

int callback(const void*, void* output, unsigned long frames, const PaStreamCallbackTimeInfo*,
             PaStreamCallbackFlags flags, void* user) {
    auto& core = *static_cast<PlayerCore*>(user);
    if ((flags & paOutputUnderflow) != 0) core.count_underrun();
    auto* const* out = static_cast<float* const*>(output);
    core.process(std::span(out, 2), frames);
    return paContinue;
}

}  // namespace

struct Player::Parts {
    using Clock = std::chrono::steady_clock;

    // Shared with a stream that is being closed (see let_go).
    std::shared_ptr<PlayerCore> core = std::make_shared<PlayerCore>(SampleRate(48000));
    PlayerSettings settings;
    SampleRate preferred{48000};
    std::string name;
    PaStream* stream = nullptr;
    bool initialised = false;
    DeviceState state = DeviceState::closed;
    Clock::time_point looked{};
    Clock::time_point gone{};
    std::shared_ptr<std::atomic<bool>> still_closing;

    std::thread preparing;

    bool initialise() {
        settle();
        if (!initialised) initialised = Pa_Initialize() == paNoError;
        return initialised;
    }
    // PortAudio is used by one thread at a time: what was begun by prepare() ends first.
    void settle() {
        if (preparing.joinable()) preparing.join();
    }
    void terminate() {
        settle();
        if (!initialised || closing()) return;
        Pa_Terminate();
        initialised = false;
    }
    bool closing() const { return still_closing && still_closing->load(); }
    void close_stream() {
        if (stream == nullptr) return;
        Pa_AbortStream(stream);
        Pa_CloseStream(stream);
        stream = nullptr;
    }
    // Closes a stream whose device went away, on a thread of its own: PortAudio 19.6 waits ten
    // minutes for a JACK server that died, and the window must not. Until then its list of devices
    // stands still, but others can be opened.
    void let_go() {
        still_closing = std::make_shared<std::atomic<bool>>(true);
        std::thread([dead = stream, flag = still_closing, kept = core] {
            Pa_CloseStream(dead);
            flag->store(false);
        }).detach();
        stream = nullptr;
    }
    Result<Done> open_stream();
};

Result<Done> Player::Parts::open_stream() {
    // The list of devices is only made anew by initialising again.
    terminate();
    if (!initialise()) {
        return Failure{FailureKind::no_device,
                       "the system's sound could not be started; check its sound settings",
                       {}};
    }
    const PaDeviceIndex index = index_of(settings.device);
    if (index == paNoDevice) {
        const std::string which = settings.device.empty()
                                      ? "any sound output"
                                      : "the sound output '" + settings.device + "'";
        return Failure{
            FailureKind::no_device, "cannot find " + which + "; plug it in or choose another", {}};
    }
    const PaDeviceInfo* info = Pa_GetDeviceInfo(index);
    name = name_of(*info);
    PaStreamParameters p{};
    p.device = index;
    p.channelCount = 2;
    p.sampleFormat = paFloat32 | paNonInterleaved;
    p.suggestedLatency = std::max(settings.latency.value(), info->defaultLowOutputLatency);
    const auto frames = static_cast<unsigned long>(std::clamp(settings.block_frames, 0, 4096));
    PaError error = paInvalidSampleRate;
    for (const double rate :
         {static_cast<double>(preferred.value()), info->defaultSampleRate, 48000.0, 44100.0}) {
        core->set_device_rate(SampleRate(static_cast<int>(rate)));
        error = Pa_OpenStream(&stream, nullptr, &p, rate, frames, paNoFlag, callback, core.get());
        if (error == paNoError) break;
        stream = nullptr;
    }
    if (error == paNoError) {
        const PaStreamInfo* got = Pa_GetStreamInfo(stream);
        core->set_output_latency(to_frames(Seconds(got->outputLatency), core->device_rate()));
        error = Pa_StartStream(stream);
        if (error != paNoError) close_stream();
    }
    if (error != paNoError) {
        return Failure{
            FailureKind::no_device,
            "cannot play on '" + name + "': " + Pa_GetErrorText(error) + "; choose another output",
            {}};
    }
    return Done{};
}

Player::Player() : parts_(std::make_unique<Parts>()) {}
Player::~Player() {
    close();
    parts_->terminate();
}

void Player::prepare() {
    Parts& p = *parts_;
    if (p.preparing.joinable() || p.initialised)
        return;  // in this order: the thread writes the second
    p.preparing = std::thread([&p] { p.initialised = Pa_Initialize() == paNoError; });
}

PlayerCore& Player::core() {
    return *parts_->core;
}
const PlayerCore& Player::core() const {
    return *parts_->core;
}

std::vector<SoundDevice> Player::devices() {
    Parts& p = *parts_;
    if (p.stream == nullptr) p.terminate();
    if (!p.initialise()) return {};
    std::vector<SoundDevice> found;
    for (PaDeviceIndex i = 0; i < Pa_GetDeviceCount(); ++i) {
        const PaDeviceInfo* info = Pa_GetDeviceInfo(i);
        if (info == nullptr || info->maxOutputChannels < 1) continue;
        found.push_back({name_of(*info), info->maxOutputChannels,
                         SampleRate(static_cast<int>(info->defaultSampleRate)),
                         i == Pa_GetDefaultOutputDevice()});
    }
    return found;
}

Result<Done> Player::open(const PlayerSettings& settings, SampleRate preferred) {
    Parts& p = *parts_;
    p.close_stream();
    p.settings = settings;
    p.preferred = preferred;
    auto opened = p.open_stream();
    p.state = opened.ok() ? DeviceState::running : DeviceState::closed;
    return opened;
}

void Player::close() {
    parts_->close_stream();
    parts_->state = DeviceState::closed;
}

DeviceState Player::state() const {
    return parts_->state;
}
Seconds Player::output_latency() const {
    const PaStreamInfo* info =
        parts_->stream == nullptr ? nullptr : Pa_GetStreamInfo(parts_->stream);
    return Seconds(info == nullptr ? 0.0 : info->outputLatency);
}
const std::string& Player::device() const {
    return parts_->name;
}

bool Player::poll() {
    Parts& p = *parts_;
    p.core->collect();
    if (p.state == DeviceState::running && Pa_IsStreamActive(p.stream) != 1) {
        p.let_go();
        p.state = DeviceState::lost;
        p.looked = p.gone = Parts::Clock::now();
        return true;
    }
    if (p.state == DeviceState::lost && p.closing() &&
        Parts::Clock::now() - p.gone > std::chrono::seconds(2)) {
        p.state = DeviceState::held;
        return true;
    }
    if (p.state == DeviceState::held && !p.closing()) p.state = DeviceState::lost;
    // While it is still being closed the list of devices cannot be made anew: nothing is found.
    if (p.state == DeviceState::lost && !p.closing() &&
        Parts::Clock::now() - p.looked > std::chrono::seconds(1)) {
        p.looked = Parts::Clock::now();
        if (p.open_stream().ok()) {
            p.state = DeviceState::running;
            return true;
        }
    }
    return false;
}

}  // namespace bentline
