// A JACK server of a test's own.
#pragma once

#include <cstdlib>
#include <filesystem>
#include <string>

#include <fcntl.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

namespace bentline::test {

// A JACK server of our own that drives no hardware; none where jackd is not installed. It waits 5 s
// for a program that a busy machine holds up before it lets go of it.
class JackServer {
  public:
    explicit JackServer(const std::string& name) {
        pid_ = fork();
        if (pid_ != 0) return;
        const int null = open("/dev/null", O_RDWR);
        dup2(null, 1);
        dup2(null, 2);
        execlp("jackd", "jackd", "--no-realtime", "-t", "5000", "-n", name.c_str(), "-d", "dummy",
               "-r", "44100", "-p", "256", static_cast<char*>(nullptr));
        _exit(127);
    }
    ~JackServer() { stop(); }
    JackServer(const JackServer&) = delete;
    JackServer& operator=(const JackServer&) = delete;
    // In good order: one that is killed leaves its place in the system's list of eight taken. One
    // that does not go within 20 s is killed all the same, so that the test ends.
    void stop() {
        if (pid_ <= 0) return;
        kill(pid_, SIGTERM);
        bool gone = false;
        for (int i = 0; i < 2000 && !gone; ++i) {
            gone = waitpid(pid_, nullptr, WNOHANG) != 0;
            if (!gone) usleep(10000);
        }
        if (!gone) {
            kill(pid_, SIGKILL);
            waitpid(pid_, nullptr, 0);
        }
        pid_ = -1;
    }

  private:
    pid_t pid_ = -1;
};

inline bool installed(const std::string& program) {
    std::string path = std::getenv("PATH") == nullptr ? "" : std::getenv("PATH");
    for (std::size_t at = 0; at <= path.size();) {
        const std::size_t end = std::min(path.find(':', at), path.size());
        if (std::filesystem::exists(std::filesystem::path(path.substr(at, end - at)) / program))
            return true;
        at = end + 1;
    }
    return false;
}

}  // namespace bentline::test
