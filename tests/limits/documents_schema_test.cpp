// SPDX-License-Identifier: MIT
// The schemas are for other tools; the typed readers are the judges. Here the two are held against each other.
#include <catch2/catch.hpp>
#include <filesystem>
#include <string>

#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wall"
#pragma GCC diagnostic ignored "-Wextra"
#pragma GCC diagnostic ignored "-Wpedantic"
#pragma GCC diagnostic ignored "-Wshadow"
#pragma GCC diagnostic ignored "-Wconversion"
#pragma GCC diagnostic ignored "-Woverloaded-virtual"
#pragma GCC diagnostic ignored "-Wunused-parameter"
#pragma GCC diagnostic ignored "-Wnon-virtual-dtor"
#include <valijson/adapters/nlohmann_json_adapter.hpp>
#include <valijson/schema.hpp>
#include <valijson/schema_parser.hpp>
#include <valijson/validator.hpp>
#pragma GCC diagnostic pop

#include "documents_support.hpp"
#include "limits/documents/json_reader.hpp"
#include "limits/documents/limit_set_document.hpp"
#include "limits/documents/unit_document.hpp"

using namespace benchward;
using namespace benchward::test;
using documents::Json;

namespace {

class SchemaFile {
 public:
  explicit SchemaFile(std::string const& path) : json_(documents::parse_json(source_file(path), path)) {
    valijson::SchemaParser parser;
    parser.populateSchema(valijson::adapters::NlohmannJsonAdapter(json_), schema_);
  }
  bool accepts(Json const& document) const {
    valijson::Validator validator;
    return validator.validate(schema_, valijson::adapters::NlohmannJsonAdapter(document), nullptr);
  }
  Json const& json() const { return json_; }

 private:
  Json json_;
  valijson::Schema schema_;
};

bool unit_accepted(Json const& document, std::string& id) {
  try {
    parse_unit(document.dump(), "t");
    return true;
  } catch (DocumentError const& error) {
    id = error.id();
    return false;
  }
}
bool set_accepted(Json const& document, std::string& id) {
  try {
    parse_limit_set(document.dump(), "t");
    return true;
  } catch (DocumentError const& error) {
    id = error.id();
    return false;
  }
}

/// Every object of a document, by pointer.
void objects(Json const& json, Json::json_pointer const& at, std::vector<Json::json_pointer>& out) {
  if (json.is_object()) out.push_back(at);
  if (json.is_object()) {
    for (auto const& entry : json.items()) objects(entry.value(), at / entry.key(), out);
  } else if (json.is_array()) {
    for (std::size_t i = 0; i < json.size(); ++i) objects(json[i], at / i, out);
  }
}

/// Spoils each key of each object in turn (taken out, of another type, misspelt): reader and schema must agree, where
/// the reader's objection is one of shape (`document.*`).
template <class Accepted>
int compare(Json const& good, SchemaFile const& schema, Accepted accepted) {
  std::string id;
  REQUIRE(accepted(good, id));
  REQUIRE(schema.accepts(good));
  std::vector<Json::json_pointer> places;
  objects(good, Json::json_pointer(), places);
  int compared = 0;
  for (auto const& place : places) {
    auto const object = good.at(place);
    for (auto const& entry : object.items()) {
      for (int how = 0; how < 4; ++how) {
        auto spoiled = good;
        auto& target = spoiled.at(place);
        if (how == 0) target.erase(entry.key());
        if (how == 1) target[entry.key()] = Json{{"unexpected", 1}};
        if (how == 2) target[entry.key()] = nullptr;
        if (how == 3) {
          target[entry.key() + "x"] = entry.value();
          target.erase(entry.key());
        }
        id.clear();
        bool const by_reader = accepted(spoiled, id);
        if (!by_reader && id.rfind("document.", 0) != 0) continue;  // a contradiction, which no schema can see
        INFO(place.to_string() << "/" << entry.key() << " spoiled by way " << how << ", reader says " << id);
        CHECK(schema.accepts(spoiled) == by_reader);
        ++compared;
      }
    }
  }
  return compared;
}

/// A unit that has every key of the document.
Json full_unit(std::string const& demo) {
  auto unit = read_unit(std::string(BENCHWARD_SOURCE_DIR) + "/sim/demo/units/" + demo + ".json");
  unit.filled_at = "2026-03-01T12:00:00Z";
  unit.hv.dual = DualVoltage{unit.hv.rated, unit.hv.rated * 0.5, 1};
  unit.breaker = Accessory{"breaker", "X1", "closed"};
  unit.arresters = {{"arrester H1", "H1", "on"}};
  unit.switches = {{"switch", "", "closed"}};
  unit.options.stages = {"before_closing", "before_shipping"};
  unit.options.elsewhere = {"impulse"};
  return documents::parse_json(write_unit(unit), demo);
}

}  // namespace

TEST_CASE("the unit schema and the unit reader agree on every key of every object", "[documents][schema]") {
  SchemaFile const schema("limits/documents/unit.schema.json");
  int compared = 0;
  for (char const* demo : {"single-phase-pad-50kva", "three-phase-pad-500kva-dyn1"}) {
    compared += compare(full_unit(demo), schema, unit_accepted);
  }
  CHECK(compared > 500);
  auto neutral = full_unit("three-phase-pad-500kva-dyn1");
  neutral["neutral_insulation_kv"] = 10;  // refused for this delta, but a key of the schema
  CHECK(schema.accepts(neutral));
  // No property of the schema is one that the reader does not know: all of them stand in the full unit.
  auto one = full_unit("single-phase-pad-50kva");
  for (auto const& entry : schema.json().at("properties").items()) {
    INFO(entry.key());
    CHECK((one.contains(entry.key()) || entry.key() == "$schema" || entry.key() == "neutral_insulation_kv"));
  }
}

TEST_CASE("every demo document fits its schema", "[documents][schema]") {
  namespace fs = std::filesystem;
  SchemaFile const unit("limits/documents/unit.schema.json"), set("limits/documents/limit_set.schema.json");
  for (auto const& [folder, schema] : {std::pair{"units", &unit}, std::pair{"limits", &set}}) {
    for (auto const& entry : fs::directory_iterator(std::string(BENCHWARD_SOURCE_DIR) + "/sim/demo/" + folder)) {
      INFO(entry.path().string());
      CHECK(schema->accepts(documents::read_json_file(entry.path().string())));
    }
  }
}

TEST_CASE("the limit set schema and reader agree on every key of the built-in sets", "[documents][schema]") {
  SchemaFile const schema("limits/documents/limit_set.schema.json");
  int compared = 0;
  for (auto const& name : builtin_limit_set_names()) {
    auto json = documents::parse_json(builtin_limit_set_text(name), name);
    // A few rules of each kind are enough; tables keep two rows.
    for (auto& table : json["tables"]) {
      for (auto& block : table["blocks"]) block["rows"] = Json::array({{10, 1}, {20, 2}});
      table["blocks"].erase(table["blocks"].begin() + 1, table["blocks"].end());
    }
    compared += compare(json, schema, set_accepted);
  }
  CHECK(compared > 1000);
}
