// GLFW and OpenGL: events in, frames out.
#include "ui/window/shell.h"

#include <algorithm>
#include <cctype>
#include <string>
#include <utility>
#include <vector>

#include <GLFW/glfw3.h>
#include <backends/imgui_impl_glfw.h>
#include <backends/imgui_impl_opengl3.h>
#include <imgui.h>

#include "ui/window/gathered.h"
#include "ui/window/palette.h"
#include "ui/window/toolkit.h"
#include "ui/window/view.h"

namespace bentline::window {
namespace {

Gathered& gathered_of(GLFWwindow* window) {
    return *static_cast<Gathered*>(glfwGetWindowUserPointer(window));
}

std::string key_name(int key, int scancode) {
    switch (key) {
        case GLFW_KEY_SPACE:
            return "space";
        case GLFW_KEY_ENTER:
        case GLFW_KEY_KP_ENTER:
            return "enter";
        case GLFW_KEY_ESCAPE:
            return "escape";
        case GLFW_KEY_BACKSPACE:
            return "backspace";
        case GLFW_KEY_DELETE:
            return "delete";
        case GLFW_KEY_TAB:
            return "tab";
        case GLFW_KEY_LEFT:
            return "left";
        case GLFW_KEY_RIGHT:
            return "right";
        case GLFW_KEY_UP:
            return "up";
        case GLFW_KEY_DOWN:
            return "down";
        case GLFW_KEY_HOME:
            return "home";
        case GLFW_KEY_END:
            return "end";
        case GLFW_KEY_PAGE_UP:
            return "pageup";
        case GLFW_KEY_PAGE_DOWN:
            return "pagedown";
        default:
            break;
    }
    if (key >= GLFW_KEY_F1 && key <= GLFW_KEY_F12)
        return "f" + std::to_string(key - GLFW_KEY_F1 + 1);
    // As the player's keyboard is laid out, not where the key lies.
    const char* name = glfwGetKeyName(key, scancode);
    if (name == nullptr) return {};
    std::string low(name);
    for (char& c : low)
        c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
    return low;
}

void on_key(GLFWwindow* window, int key, int scancode, int action, int mods) {
    ImGui_ImplGlfw_KeyCallback(window, key, scancode, action, mods);
    if (action == GLFW_RELEASE) return;
    const std::string name = key_name(key, scancode);
    if (name.empty()) return;
    std::string stroke;
    if ((mods & GLFW_MOD_CONTROL) != 0) stroke += "ctrl+";
    if ((mods & GLFW_MOD_ALT) != 0) stroke += "alt+";
    if ((mods & GLFW_MOD_SHIFT) != 0) stroke += "shift+";
    gathered_of(window).strokes.push_back(stroke + name);
}

void on_drop(GLFWwindow* window, int count, const char** paths) {
    gathered_of(window).drop(count, paths);
}

Failure no_display() {
    const char* why = nullptr;
    glfwGetError(&why);
    return {FailureKind::no_device,
            std::string("cannot open a window on this display") +
                (why != nullptr ? std::string(" (") + why + ")" : "") +
                "; use --picture to draw it into a file instead",
            {}};
}

void paint(GLFWwindow* window, const State& state) {
    int width = 0, height = 0;
    glfwGetFramebufferSize(window, &width, &height);
    glViewport(0, 0, width, height);
    const Colour desk = palette(state.remembered.dark ? Paper::dark : Paper::light).desk;
    glClearColor(static_cast<float>(desk & 0xFF) / 255.0F,
                 static_cast<float>((desk >> 8) & 0xFF) / 255.0F,
                 static_cast<float>((desk >> 16) & 0xFF) / 255.0F, 1.0F);
    glClear(GL_COLOR_BUFFER_BIT);
    ImGui_ImplOpenGL3_RenderDrawData(ImGui::GetDrawData());
    glfwSwapBuffers(window);
}

std::string title_of(const State& state) {
    std::string title = "Bentline";
    const std::filesystem::path file = !state.draft_file.empty() ? state.draft_file
                                       : state.heard.info        ? state.heard.info->path
                                                                 : std::filesystem::path();
    if (!file.empty()) title += ": " + file.filename().string();
    return state.unsaved ? title + " (not saved yet)" : title;
}

void run_frames(GLFWwindow* window, Desk& desk, Gathered& gathered, float scale_asked,
                bool modern) {
    float x_scale = 1, y_scale = 1;
    glfwGetWindowContentScale(window, &x_scale, &y_scale);
    const auto scale_now = [&] {
        return std::clamp(scale_asked * x_scale * static_cast<float>(desk.state().remembered.scale),
                          0.5F, 4.0F);
    };
    float scale = scale_now();
    Toolkit toolkit(scale);
    ImGui_ImplGlfw_InitForOpenGL(window, true);
    // Long lists of triangles need OpenGL 3.2; an older one draws all but the very widest views.
    ImGui_ImplOpenGL3_Init(modern ? "#version 150" : "#version 130");
    glfwSetKeyCallback(window, on_key);
    glfwSetDropCallback(window, on_drop);
    Scratch scratch;
    std::string title;
    while (!desk.state().leaving) {
        // Awake while something moves, else only now and then: a still sheet costs nothing.
        const bool moves = desk.state().play.playing || !desk.state().work.empty();
        if (moves) {
            glfwPollEvents();
        } else {
            glfwWaitEventsTimeout(0.05);
        }
        if (glfwWindowShouldClose(window) != 0) {
            glfwSetWindowShouldClose(window, 0);
            desk.apply(intents::Leave{});
        }
        int across = 0, down = 0;
        glfwGetFramebufferSize(window, &across, &down);
        desk.set_bench_width(
            bench_width(static_cast<float>(across), static_cast<float>(down), scale));
        desk.tick();
        if (const auto dropped = gathered.take_dropped()) desk.apply(*dropped);
        const bool rescaled = scale != scale_now();
        if (rescaled) {
            scale = scale_now();
            toolkit.rescale(scale);
        }
        if (toolkit.learn(std::exchange(scratch.unknown, {})) || rescaled) {
            ImGui_ImplOpenGL3_DestroyFontsTexture();
            ImGui_ImplOpenGL3_CreateFontsTexture();
        }
        scratch.fonts = toolkit.fonts();
        scratch.scale = scale;
        scratch.seconds = glfwGetTime();
        scratch.strokes.insert(scratch.strokes.end(), gathered.strokes.begin(),
                               gathered.strokes.end());
        gathered.strokes.clear();
        ImGui_ImplOpenGL3_NewFrame();
        ImGui_ImplGlfw_NewFrame();
        ImGui::NewFrame();
        const std::vector<Intent> asked = draw(desk.state(), scratch);
        ImGui::Render();
        paint(window, desk.state());
        for (const Intent& intent : asked)
            desk.apply(intent);
        if (std::string now = title_of(desk.state()); now != title) {
            title = std::move(now);
            glfwSetWindowTitle(window, title.c_str());
        }
    }
    ImGui_ImplOpenGL3_Shutdown();
    ImGui_ImplGlfw_Shutdown();
}

}  // namespace

Result<Done> show_on_screen(Desk& desk, int width, int height, float scale) {
    if (glfwInit() == GLFW_FALSE) return no_display();
    const auto pixels = [scale](int points) {
        return static_cast<int>(static_cast<float>(points) * scale);
    };
    const auto open_window = [&](int minor, int profile) {
        glfwWindowHint(GLFW_CONTEXT_VERSION_MAJOR, 3);
        glfwWindowHint(GLFW_CONTEXT_VERSION_MINOR, minor);
        glfwWindowHint(GLFW_OPENGL_PROFILE, profile);
        glfwWindowHint(GLFW_OPENGL_FORWARD_COMPAT, minor >= 2 ? GLFW_TRUE : GLFW_FALSE);
        return glfwCreateWindow(pixels(width), pixels(height), "Bentline", nullptr, nullptr);
    };
    GLFWwindow* window = open_window(2, GLFW_OPENGL_CORE_PROFILE);
    const bool modern = window != nullptr;
    if (!modern) window = open_window(0, GLFW_OPENGL_ANY_PROFILE);
    if (window == nullptr) {
        const Failure failure = no_display();
        glfwTerminate();
        return failure;
    }
    glfwSetWindowSizeLimits(window, 960, 600, GLFW_DONT_CARE, GLFW_DONT_CARE);
    glfwMakeContextCurrent(window);
    glfwSwapInterval(1);
    Gathered gathered;
    glfwSetWindowUserPointer(window, &gathered);
    run_frames(window, desk, gathered, scale, modern);
    glfwDestroyWindow(window);
    glfwTerminate();
    return Done{};
}

}  // namespace bentline::window
