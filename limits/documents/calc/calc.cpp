// SPDX-License-Identifier: MIT
#include "limits/documents/calc/calc.hpp"

#include <stdexcept>

#include "limits/correct/input_error.hpp"
#include "limits/documents/calc/topic.hpp"
#include "limits/unit/vector_group.hpp"

namespace benchward {
namespace {

std::vector<documents::Topic> const& all_topics() {
  static std::vector<documents::Topic> const topics = [] {
    std::vector<documents::Topic> list;
    for (auto* part : {documents::connection_topics, documents::loss_topics, documents::efficiency_topics,
                       documents::dielectric_topics, documents::statistics_topics, documents::wire_topics}) {
      for (auto& topic : part()) list.push_back(std::move(topic));
    }
    return list;
  }();
  return topics;
}

documents::Topic const& find_topic(std::string_view name) {
  std::vector<std::string_view> names;
  for (auto const& topic : all_topics()) {
    if (topic.about.name == name) return topic;
    names.push_back(topic.about.name);
  }
  auto const near = documents::nearest(name, names);
  throw DocumentError("calc.no-such-topic", "calc", "",
                      "no topic \"" + std::string(name) + "\"" + (near.empty() ? "" : "; is \"" + near + "\" meant?") +
                          " `calc --list` prints them all");
}

}  // namespace

std::vector<CalcTopic> calc_topics() {
  std::vector<CalcTopic> list;
  for (auto const& topic : all_topics()) list.push_back(topic.about);
  return list;
}

std::string calculate(std::string_view name, std::string_view json_text) {
  auto const& topic = find_topic(name);
  auto const document = "calc " + topic.about.name;
  auto const json = documents::parse_json(json_text, document);
  documents::ObjectReader in(json, document);
  JsonWriter out;
  out.begin_object();
  try {
    topic.run(in, out);
  } catch (InputError const& error) {
    // Its text begins with the input's name, which is the path already.
    auto const reason = std::string(error.what()).substr(error.input().size() + 2);
    throw DocumentError("calc.out-of-range", document, "/" + error.input(), reason);
  } catch (VectorGroupError const& error) {
    throw DocumentError("calc.out-of-range", document, "/vector_group", error.what());
  } catch (std::invalid_argument const&) {
    throw DocumentError("calc.out-of-range", document, "",
                        "the result is no finite number; are all numbers in the units that the keys name?");
  }
  return out.field("source", topic.about.source).end_object().text();
}

}  // namespace benchward
