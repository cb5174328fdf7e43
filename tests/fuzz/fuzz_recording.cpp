// libFuzzer entry: any bytes as a sound file. Run: fuzz_recording -max_len=20000 CORPUS_FOLDER
#include <cstddef>
#include <cstdint>
#include <string>

#include <sys/mman.h>
#include <unistd.h>

#include "engine/recording/recording.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    using namespace bentline;
    const int fd = ::memfd_create("fuzz", MFD_CLOEXEC);
    if (fd < 0 || ::write(fd, data, size) != static_cast<ssize_t>(size)) return 0;
    const auto opened = Recording::open("/proc/self/fd/" + std::to_string(fd));
    if (opened) {
        const Frames end = std::min(opened->info().frames, Frames(20000));
        const auto first = opened->read({Frames(0), end});
        const auto second = opened->read({Frames(end.value() / 2), end});
        if (first && second && first->channels.size() != second->channels.size()) __builtin_trap();
    }
    ::close(fd);
    return 0;
}
