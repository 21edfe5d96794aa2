// SPDX-License-Identifier: MIT
#include "limits/documents/readings_json.hpp"

#include <chrono>
#include <limits>
#include <stdexcept>

#include <fmt/format.h>

#include "limits/documents/json_reader.hpp"
#include "limits/documents/json_writer.hpp"
#include "limits/documents/result_words.hpp"
#include "limits/documents/structure_fields.hpp"

namespace benchward {
namespace documents {
namespace {

// Base unit and its symbol, by type.
template <class Q>
struct Base;
#define BENCHWARD_BASE(type, unit_value, symbol_text)       \
  template <>                                               \
  struct Base<type> {                                       \
    static constexpr auto unit = unit_value;                \
    static constexpr std::string_view symbol = symbol_text; \
  };
BENCHWARD_BASE(Voltage, volts, "V")
BENCHWARD_BASE(Current, amperes, "A")
BENCHWARD_BASE(Resistance, ohms, "ohm")
BENCHWARD_BASE(Inductance, henries, "H")
BENCHWARD_BASE(ActivePower, watts, "W")
BENCHWARD_BASE(Frequency, hertz, "Hz")
BENCHWARD_BASE(Duration, seconds, "s")
BENCHWARD_BASE(Angle, radians, "rad")
BENCHWARD_BASE(TemperatureRise, kelvins, "K")
BENCHWARD_BASE(Temperature, celsius, "degC")
#undef BENCHWARD_BASE
template <>
struct Base<Number> {
  static constexpr std::string_view symbol = "1";
};

template <class Q>
double base_value(Q const& quantity) {
  if constexpr (std::is_same_v<Q, Number>) {
    return quantity.value();
  } else {
    return quantity.in(Base<Q>::unit);
  }
}
template <class Q>
Q from_base(double value) {
  if constexpr (std::is_same_v<Q, Number>) {
    return Number(value);
  } else {
    return Base<Q>::unit(value);
  }
}

template <class T>
struct IsReading : std::false_type {};
template <class Q>
struct IsReading<Reading<Q>> : std::true_type {
  using Value = Q;
};
template <class T>
struct IsOptional : std::false_type {};
template <class T>
struct IsOptional<std::optional<T>> : std::true_type {};
template <class T>
struct IsVector : std::false_type {};
template <class T>
struct IsVector<std::vector<T>> : std::true_type {};
template <class T>
struct IsMaybe : std::false_type {};
template <class T>
struct IsMaybe<MaybeNumber<T>> : std::true_type {};
template <class T>
concept HasBase = requires {
  Base<T>::symbol;
};

template <class Enum>
constexpr auto const& words_for() {
  if constexpr (std::is_same_v<Enum, Verdict>) {
    return words::verdicts;
  } else if constexpr (std::is_same_v<Enum, Outcome>) {
    return words::outcomes;
  } else {
    return words::dispositions;
  }
}

std::string hex_words(std::vector<std::uint16_t> const& words_in) {
  std::string out;
  for (auto const word : words_in) out += fmt::format("{:04x}", word);
  return out;
}

// --- writing

class WriteArchive {
 public:
  explicit WriteArchive(JsonWriter& json) : json_(json) {}

  template <class T>
  WriteArchive& operator()(std::string_view key, T const& value) {
    if constexpr (IsOptional<T>::value) {
      if (value) (*this)(key, *value);
    } else if constexpr (IsMaybe<T>::value) {
      if (std::isfinite(value.number)) json_.field(key, value.number);
    } else {
      json_.key(key);
      write(value);
    }
    return *this;
  }

  template <class T>
  void write(T const& value) {
    if constexpr (IsReading<T>::value) {
      reading(value);
    } else if constexpr (IsVector<T>::value) {
      json_.begin_list();
      for (auto const& entry : value) write(entry);
      json_.end_list();
    } else if constexpr (HasBase<T>) {
      json_.value(base_value(value));
    } else if constexpr (std::is_enum_v<T>) {
      json_.value(words::word_of(words_for<T>(), value));
    } else if constexpr (std::is_arithmetic_v<T> || std::is_same_v<T, std::string>) {
      json_.value(value);
    } else {
      json_.begin_object();
      fields(*this, value);
      json_.end_object();
    }
  }

 private:
  template <class Q>
  void reading(Reading<Q> const& reading) {
    json_.begin_object();
    bool const number = reading.quality != Quality::bad && reading.value.finite();
    if (number) json_.field("value", base_value(reading.value));
    json_.field("unit", Base<Q>::symbol);
    json_.field("quality", words::word_of(words::qualities, number ? reading.quality : Quality::bad));
    json_.field("at", utc_text(reading.source.utc_us)).field("at_ns", reading.source.monotonic_ns);
    json_.field("received", utc_text(reading.received.utc_us)).field("received_ns", reading.received.monotonic_ns);
    json_.field("instrument", reading.origin.instrument).field("channel", reading.origin.channel);
    json_.field("range", reading.origin.range).field("raw", hex_words(reading.origin.raw_words));
    json_.end_object();
  }

  JsonWriter& json_;
};

// --- reading

class ReadArchive {
 public:
  explicit ReadArchive(ObjectReader& reader) : reader_(reader) {}

  template <class T>
  ReadArchive& operator()(std::string_view key, T&& value) {
    using Plain = std::decay_t<T>;
    if constexpr (IsOptional<Plain>::value) {
      value.reset();
      reader_.known(key);
      if (reader_.has(key)) {
        typename Plain::value_type inner{};  // not emplace(): Clang 14 takes no nested structure there
        (*this)(key, inner);
        value = std::move(inner);
      }
    } else if constexpr (IsMaybe<Plain>::value) {
      value.number = reader_.number_or(key, std::numeric_limits<double>::quiet_NaN(), "a number");
    } else if constexpr (IsVector<Plain>::value) {
      list(key, value);
    } else if constexpr (IsReading<Plain>::value) {
      auto object = reader_.object(key);
      reading(object, value);
    } else if constexpr (HasBase<Plain>) {
      value = from_base<Plain>(reader_.number(key, "a number"));
    } else if constexpr (std::is_enum_v<Plain>) {
      value = reader_.word(key, words_for<Plain>());
    } else if constexpr (std::is_same_v<Plain, bool>) {
      value = reader_.boolean(key);
    } else if constexpr (std::is_integral_v<Plain>) {
      value = static_cast<Plain>(
          reader_.integer(key, "a whole number", std::numeric_limits<Plain>::min(), std::numeric_limits<Plain>::max()));
    } else if constexpr (std::is_floating_point_v<Plain>) {
      value = reader_.number(key, "a number");
    } else if constexpr (std::is_same_v<Plain, std::string>) {
      value = any_text(reader_.raw(key, "a text"), reader_, std::string(key));
    } else {
      auto object = reader_.object(key);
      whole(object, value);
    }
    return *this;
  }

  template <class T>
  static void whole(ObjectReader& object, T& value) {
    ReadArchive archive(object);
    fields(archive, value);
    object.finish();
  }

 private:
  /// Texts of the journal may be long and have line ends.
  static std::string any_text(Json const& json, ObjectReader const& reader, std::string const& at) {
    if (!json.is_string()) reader.fail("document.wrong-type", at, "expected a text, got " + shown(json));
    return json.get<std::string>();
  }

  template <class T>
  void list(std::string_view key, std::vector<T>& out) {
    out.clear();
    if constexpr (std::is_same_v<T, std::string>) {
      auto const& json = reader_.raw(key, "a list of texts");
      if (!json.is_array()) reader_.fail("document.wrong-type", key, "expected a list, got " + shown(json));
      for (std::size_t i = 0; i < json.size(); ++i) {
        out.push_back(any_text(json[i], reader_, fmt::format("{}/{}", key, i)));
      }
    } else {
      for (auto& object : reader_.objects(key)) {
        if constexpr (IsReading<T>::value) {
          reading(object, out.emplace_back());
        } else {
          whole(object, out.emplace_back());
        }
      }
    }
  }

  template <class Q>
  static void reading(ObjectReader& object, Reading<Q>& reading) {
    reading.quality = object.word("quality", words::qualities);
    reading.value = Q();
    if (reading.quality != Quality::bad) {
      reading.value = from_base<Q>(object.number("value", "a number"));
    } else if (object.has("value")) {
      object.fail("reading.bad-with-value", "value", "a BAD reading has no value");
    }
    constexpr words::List<std::string_view, 1> unit{{{Base<Q>::symbol, Base<Q>::symbol}}};
    object.word("unit", unit);
    stamp(object, "at", reading.source);
    stamp(object, "received", reading.received);
    reading.origin.instrument = any_text(object.raw("instrument", "a text"), object, "instrument");
    reading.origin.channel = any_text(object.raw("channel", "a text"), object, "channel");
    reading.origin.range = any_text(object.raw("range", "a text"), object, "range");
    raw_words(object, reading.origin.raw_words);
    object.finish();
  }

  static void stamp(ObjectReader& object, std::string const& key, Stamp& stamp) {
    auto const text = any_text(object.raw(key, "a UTC time"), object, key);
    try {
      stamp.utc_us = utc_from_text(text);
    } catch (std::invalid_argument const& error) {
      object.fail("document.out-of-range", key, error.what());
    }
    stamp.monotonic_ns = object.integer(key + "_ns", "nanoseconds", std::numeric_limits<std::int64_t>::min(),
                                        std::numeric_limits<std::int64_t>::max());
  }

  static void raw_words(ObjectReader& object, std::vector<std::uint16_t>& out) {
    auto const text = any_text(object.raw("raw", "hexadecimal words"), object, "raw");
    out.clear();
    unsigned word = 0;
    for (std::size_t i = 0; i < text.size(); ++i) {
      auto const digit = std::string_view("0123456789abcdef").find(text[i]);
      if (digit == std::string_view::npos || text.size() % 4 != 0) {
        object.fail("document.out-of-range", "raw", "expected hexadecimal words of four lower-case digits");
      }
      word = (word << 4 | static_cast<unsigned>(digit)) & 0xffffu;
      if (i % 4 == 3) out.push_back(static_cast<std::uint16_t>(word));
    }
  }

  ObjectReader& reader_;
};

template <class T>
std::string write_whole(T const& value) {
  JsonWriter json;
  WriteArchive(json).write(value);
  return json.text();
}

template <class T>
T read_whole(std::string_view text, std::string const& name) {
  auto const json = parse_json(text, name);
  ObjectReader reader(json, name);
  T value;
  ReadArchive::whole(reader, value);
  return value;
}

}  // namespace
}  // namespace documents

#define BENCHWARD_JSON(type)                                                          \
  std::string write_json(type const& value) { return documents::write_whole(value); } \
  template <>                                                                         \
  type read_json(std::string_view text, std::string const& name) {                    \
    return documents::read_whole<type>(text, name);                                   \
  }
BENCHWARD_JSON(TemperatureReadings)
BENCHWARD_JSON(RatioReadings)
BENCHWARD_JSON(PolarityReadings)
BENCHWARD_JSON(ResistanceReadings)
BENCHWARD_JSON(NoLoadReadings)
BENCHWARD_JSON(LoadLossReadings)
BENCHWARD_JSON(AppliedReadings)
BENCHWARD_JSON(InducedReadings)
BENCHWARD_JSON(InsulationReadings)
BENCHWARD_JSON(BreakdownReading)
BENCHWARD_JSON(PowerSnapshot)
BENCHWARD_JSON(MeasuredResistances)
BENCHWARD_JSON(Result)
BENCHWARD_JSON(Evaluation)
BENCHWARD_JSON(LimitSheet)
BENCHWARD_JSON(Judgement)
BENCHWARD_JSON(Calibration)
#undef BENCHWARD_JSON

std::string utc_text(std::int64_t utc_us) {
  using namespace std::chrono;
  auto const instant = sys_time<microseconds>(microseconds(utc_us));
  auto const day = floor<days>(instant);
  year_month_day const date(day);
  hh_mm_ss const time(instant - day);
  return fmt::format("{:04}-{:02}-{:02}T{:02}:{:02}:{:02}.{:06}Z", static_cast<int>(date.year()),
                     static_cast<unsigned>(date.month()), static_cast<unsigned>(date.day()), time.hours().count(),
                     time.minutes().count(), time.seconds().count(), time.subseconds().count());
}

std::int64_t utc_from_text(std::string_view text) {
  using namespace std::chrono;
  auto const wrong = [&]() -> std::invalid_argument {
    return std::invalid_argument(fmt::format("expected a UTC time as YYYY-MM-DDThh:mm:ss.ffffffZ, got \"{}\"", text));
  };
  if (text.size() != 27 || text[10] != 'T' || text[19] != '.' || text[26] != 'Z') throw wrong();
  if (text[13] != ':' || text[16] != ':' || !documents::is_date(text.substr(0, 10))) throw wrong();
  auto const digits = [&](std::size_t from, std::size_t count) {
    std::int64_t value = 0;
    for (char const c : text.substr(from, count)) {
      if (c < '0' || c > '9') throw wrong();
      value = value * 10 + (c - '0');
    }
    return value;
  };
  year_month_day const date{year(static_cast<int>(digits(0, 4))), month(static_cast<unsigned>(digits(5, 2))),
                            day(static_cast<unsigned>(digits(8, 2)))};
  auto const hour = digits(11, 2), minute = digits(14, 2), second = digits(17, 2);
  if (hour > 23 || minute > 59 || second > 59) throw wrong();
  std::int64_t const day_count = sys_days(date).time_since_epoch().count();
  return (((day_count * 24 + hour) * 60 + minute) * 60 + second) * 1000000 + digits(20, 6);
}

std::string_view word_of(Verdict verdict) { return words::word_of(words::verdicts, verdict); }
std::string_view word_of(Outcome outcome) { return words::word_of(words::outcomes, outcome); }
std::string_view word_of(Disposition disposition) { return words::word_of(words::dispositions, disposition); }

}  // namespace benchward
