using System.Globalization;
using Microsoft.AspNetCore.WebUtilities;
using Throughline.Workbench.State;

namespace Throughline.Workbench.Pages;

/// <summary>Addresses of the pages. They hold what is looked at, so that one that is kept restores the view.</summary>
internal static class Link
{
    /// <summary>The sections, in the order of the header: the word in the address and the word on the page.</summary>
    public static IReadOnlyList<(string Word, string Title)> Sections { get; } =
    [
        ("chain", "Chain"),
        ("circuits", "Circuits"),
        ("accuracy", "Accuracy"),
        ("firmware", "Firmware"),
        ("panel", "Panel"),
        ("supplies", "Supplies"),
        ("adjustment", "Adjustment"),
        ("revisions", "Revisions"),
    ];

    public static string To(string section, string file) => QueryHelpers.AddQueryString("/" + section, "file", file);

    /// <summary>The same with the operating point.</summary>
    public static string To(string section, string file, SessionState state)
    {
        if (state.Followed is not { } followed)
        {
            return To(section, file);
        }

        Dictionary<string, string?> words = new() { ["file"] = file, ["at"] = Number(state.Measurand) };
        Analysis.Conditions reference = followed.Nominal.Reference;
        Add("ambient", state.At.Ambient, reference.Ambient);
        Add("process", state.At.Process, reference.Process);
        Add("supply", state.At.SupplyShift, reference.SupplyShift);
        Add("load", state.At.Load, reference.Load);
        Add("age", state.At.AgeSeconds, reference.AgeSeconds);
        if (state.Unit is { } unit)
        {
            words["unit"] = unit.Unit.ToString(CultureInfo.InvariantCulture);
            words["seed"] = unit.Options.Seed.ToString(CultureInfo.InvariantCulture);
        }

        if (state.Other?.Word is { } beside)
        {
            words["beside"] = beside;
        }

        return QueryHelpers.AddQueryString("/" + section, words);

        void Add(string word, double value, double usual)
        {
            if (value != usual)
            {
                words[word] = Number(value);
            }
        }
    }

    /// <summary>The whole review as a document.</summary>
    public static string Review(string file) => QueryHelpers.AddQueryString("/download/review", "file", file);

    private static string Number(double value) => value.ToString("G9", CultureInfo.InvariantCulture);
}
