// Drops a file onto another program's window, as a file manager does, by the drag-and-drop protocol
// of the X window system (XDND, version 5, freedesktop.org), played from the source's side.
//   window_drop WINDOW FILE       exit code 0: the window took it; 1: it refused, or did not answer
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <string>
#include <thread>

#include <X11/Xatom.h>
#include <X11/Xlib.h>

namespace {

constexpr long version = 5;
constexpr auto patience = std::chrono::seconds(10);

class Source {
  public:
    Source(Display* display, Window target, std::string uri)
        : display_(display), target_(target), uri_(std::move(uri) + "\r\n") {
        window_ = XCreateSimpleWindow(display_, DefaultRootWindow(display_), 0, 0, 1, 1, 0, 0, 0);
        selection_ = atom("XdndSelection");
        XSetSelectionOwner(display_, selection_, window_, CurrentTime);
    }

    bool drop() {
        const long source = static_cast<long>(window_);
        send("XdndEnter", source, version << 24, static_cast<long>(atom("text/uri-list")), 0);
        constexpr long at = 640L << 16 | 360L;
        send("XdndPosition", source, 0, at, CurrentTime, static_cast<long>(atom("XdndActionCopy")));
        const XEvent status = wait_for("XdndStatus");
        if (status.type == 0 || (status.xclient.data.l[1] & 1) == 0) return false;
        send("XdndDrop", source, 0, CurrentTime, 0);
        // The protocol says bit 0 for success; the toolkit answers with how many bytes it took.
        const XEvent finished = wait_for("XdndFinished");
        return finished.type != 0 && finished.xclient.data.l[1] != 0;
    }

  private:
    Atom atom(const char* name) { return XInternAtom(display_, name, False); }

    void send(const char* message, long a, long b, long c, long d, long e = 0) {
        XEvent event{};
        event.xclient.type = ClientMessage;
        event.xclient.window = target_;
        event.xclient.message_type = atom(message);
        event.xclient.format = 32;
        const long data[] = {a, b, c, d, e};
        for (int i = 0; i < 5; ++i)
            event.xclient.data.l[i] = data[i];
        XSendEvent(display_, target_, False, NoEventMask, &event);
        XFlush(display_);
    }

    // Hands the name over when it is asked for; the message that is waited for, or an event of type
    // 0.
    XEvent wait_for(const char* message) {
        const Atom wanted = atom(message);
        const auto end = std::chrono::steady_clock::now() + patience;
        while (std::chrono::steady_clock::now() < end) {
            if (XPending(display_) == 0) {
                std::this_thread::sleep_for(std::chrono::milliseconds(10));
                continue;
            }
            XEvent event{};
            XNextEvent(display_, &event);
            if (event.type == SelectionRequest) hand_over(event.xselectionrequest);
            if (event.type == ClientMessage && event.xclient.message_type == wanted) return event;
        }
        return {};
    }

    void hand_over(const XSelectionRequestEvent& request) {
        XChangeProperty(display_, request.requestor, request.property, request.target, 8,
                        PropModeReplace, reinterpret_cast<const unsigned char*>(uri_.data()),
                        static_cast<int>(uri_.size()));
        XEvent answer{};
        answer.xselection.type = SelectionNotify;
        answer.xselection.requestor = request.requestor;
        answer.xselection.selection = request.selection;
        answer.xselection.target = request.target;
        answer.xselection.property = request.property;
        answer.xselection.time = request.time;
        XSendEvent(display_, request.requestor, False, NoEventMask, &answer);
        XFlush(display_);
    }

    Display* display_;
    Window target_, window_ = 0;
    Atom selection_ = 0;
    std::string uri_;
};

}  // namespace

int main(int count, char** words) {
    if (count != 3) return 2;
    Display* display = XOpenDisplay(nullptr);
    if (display == nullptr) {
        std::fputs("window_drop: there is no display\n", stderr);
        return 1;
    }
    const Window target = std::strtoul(words[1], nullptr, 0);
    const std::string uri = "file://" + std::filesystem::absolute(words[2]).string();
    const bool taken = Source(display, target, uri).drop();
    XCloseDisplay(display);
    return taken ? 0 : 1;
}
