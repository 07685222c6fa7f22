#pragma once

#include <chrono>
#include <filesystem>
#include <functional>
#include <iosfwd>
#include <optional>
#include <string>
#include <string_view>

#include "cli/exit_code.hpp"
#include "cli/render/text.hpp"
#include "daemon/api/codec.hpp"

namespace setwell::cli {

/// How long an answer is waited for; a copy of all records takes longer than a question.
inline constexpr std::chrono::milliseconds kPatience{10'000};
inline constexpr std::chrono::milliseconds kLongPatience{600'000};

using Object = decltype(api::to_object(api::NoParams{}));
/// One question to the daemon and its answer, or what it refused with.
using Call = std::function<quantity::Result<Object>(std::string_view method, const Object& params,
                                                    std::chrono::milliseconds patience)>;
/// Reaches the daemon at the socket that was named, or the usual one.
using Connect = std::function<quantity::Result<Call>(const std::optional<std::filesystem::path>& socket)>;

/// All that a run of the program touches. The streams outlive it.
struct World {
  Connect connect;
  std::ostream& out;
  std::ostream& err;
  bool on_terminal = false;             ///< `out` is one
  std::optional<std::string> no_color;  ///< the variable NO_COLOR
  quantity::Instant clock_now;
  std::istream* answers = nullptr;  ///< a person's; null where nobody sits at a terminal
};

/// What every command takes.
struct Wishes {
  bool json = false;
  bool no_colour = false;
  std::optional<std::string> socket;
};

/// One run of one command: asks, shows, and tells how the program ends.
class Session {
 public:
  Session(const World& world, const Wishes& wishes) : world_(world), wishes_(wishes) {}

  /// Asks and shows the answer, as text or as the daemon gave it. Answers the exit code.
  template <typename Answer, typename Params>
  [[nodiscard]] int ask(std::string_view method, const Params& params,
                        std::chrono::milliseconds patience = kPatience) {
    const auto answer =
        json() ? pass_on<Answer>(method, params, patience) : answer_to<Answer>(method, params, patience);
    if (!answer) return fail(answer.error());
    return show(answer->object, json() ? std::string() : to_text(answer->answer, look()));
  }

  /// What became of a refusal that may have been a question.
  template <typename Params>
  struct Settled {
    bool asked = false;            ///< it was one, and was put to a person
    std::optional<Params> params;  ///< with the answer in; nothing: nothing is to be done
  };
  /// As `ask`. Where a person sits at a terminal, `settle` sees a refusal first (Error → Settled<Params>).
  template <typename Answer, typename Params, typename Settle>
  [[nodiscard]] int ask_person(std::string_view method, const Params& params, Settle settle) {
    if (json() || world_.answers == nullptr) return ask<Answer>(method, params);
    const auto answer = answer_to<Answer>(method, params);
    if (answer) return show(answer->object, to_text(answer->answer, look()));
    const bool refused = answer.error().kind == quantity::ErrorKind::refused;
    const auto settled = refused ? settle(answer.error()) : Settled<Params>{};
    if (!settled.asked) return fail(answer.error());
    if (!settled.params) return fail(quantity::refused("nothing was logged"));
    return ask<Answer>(method, *settled.params);
  }
  /// For questions; only where there is somebody to answer.
  [[nodiscard]] std::istream& answers() const { return *world_.answers; }
  [[nodiscard]] std::ostream& out() const { return world_.out; }

  template <typename Answer>
  struct Given {
    Object object;
    Answer answer;
  };
  /// Error: what the daemon refused with; unreachable also when its answer makes no sense to this program.
  template <typename Answer, typename Params>
  [[nodiscard]] quantity::Result<Given<Answer>> answer_to(std::string_view method, const Params& params,
                                                          std::chrono::milliseconds patience = kPatience) {
    auto object = call(method, api::to_object(params), patience);
    if (!object) return object.error();
    auto answer = api::from_json<Answer>(*object, api::UnknownKeys::ignored);
    if (!answer) return not_understood(method, answer.error());
    return Given<Answer>{std::move(*object), std::move(*answer)};
  }

  [[nodiscard]] quantity::Result<Object> call(std::string_view method, const Object& params,
                                              std::chrono::milliseconds patience = kPatience);
  /// The object on one line for a program, else the text.
  int show(const Object& object, std::string_view text);
  void print(std::string_view text);
  /// Puts a page into a file, in place of what was there. Answers the exit code, having said what failed.
  [[nodiscard]] int write_page(const std::filesystem::path& file, std::string_view page);
  /// One sentence on the error stream; for a program the error as an object.
  [[nodiscard]] int fail(const quantity::Error& error);

  [[nodiscard]] bool json() const { return wishes_.json; }
  /// Colour is for a terminal whose user does not object.
  [[nodiscard]] Look look() const;

 private:
  /// A program gets what the daemon said, whether or not this one would understand it.
  template <typename Answer, typename Params>
  quantity::Result<Given<Answer>> pass_on(std::string_view method, const Params& params,
                                          std::chrono::milliseconds patience) {
    auto object = call(method, api::to_object(params), patience);
    if (!object) return object.error();
    return Given<Answer>{std::move(*object), {}};
  }
  [[nodiscard]] static quantity::Error not_understood(std::string_view method, const quantity::Error& why);

  const World& world_;
  const Wishes& wishes_;
  Call call_;
  bool rehearsal_ = false;  ///< an answer said so
};

}  // namespace setwell::cli
