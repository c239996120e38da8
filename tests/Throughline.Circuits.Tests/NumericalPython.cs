using System.Text.Json.Nodes;
using Throughline.Testing;

namespace Throughline.Circuits.Tests;

/// <summary>Runs Reference/networks.py.</summary>
internal static class NumericalPython
{
    public static JsonArray Run(string task, IEnumerable<JsonObject> networks, JsonObject? arguments = null)
    {
        var request = new JsonObject { ["task"] = task, ["networks"] = new JsonArray([.. networks]) };
        foreach ((string key, JsonNode? value) in arguments ?? [])
            request[key] = value?.DeepClone();
        return Python.Run(["tests", "Throughline.Circuits.Tests", "Reference", "networks.py"], request).AsArray();
    }
}
