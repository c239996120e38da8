using System.Text.Json.Serialization;

namespace Throughline.Json;

/// <summary>Serializers made when the program is built, so that no command waits for reflection.</summary>
[JsonSourceGenerationOptions(PropertyNamingPolicy = JsonKnownNamingPolicy.CamelCase, WriteIndented = true, NewLine = "\n", GenerationMode = JsonSourceGenerationMode.Metadata)]
[JsonSerializable(typeof(ReviewDocument))]
[JsonSerializable(typeof(ReadingsDocument))]
[JsonSerializable(typeof(BudgetDocument))]
[JsonSerializable(typeof(ResponseDocument))]
[JsonSerializable(typeof(BillDocument))]
[JsonSerializable(typeof(FaultsDocument))]
[JsonSerializable(typeof(ComparisonDocument))]
[JsonSerializable(typeof(LoopDocument))]
[JsonSerializable(typeof(SuppliesDocument))]
[JsonSerializable(typeof(BatchDocument))]
[JsonSerializable(typeof(UnitDocument))]
[JsonSerializable(typeof(FirmwareDocument))]
[JsonSerializable(typeof(PanelDocument))]
[JsonSerializable(typeof(FilesDocument))]
[JsonSerializable(typeof(CompletionsDocument))]
internal sealed partial class JsonShapesContext : JsonSerializerContext;
