using System.Text.Json;
using System.Text.RegularExpressions;
using Microsoft.AspNetCore.Diagnostics;
using Microsoft.AspNetCore.Http;

namespace Acquire.Service.Page;

/// <summary>Says what went wrong in a request: of a call that cannot be read where, what was found and what is allowed; of a fault of ours nothing that is not the caller's.</summary>
internal static partial class PageFaults
{
    /// <summary>Answers a request that ended in an exception.</summary>
    public static Task Answer(HttpContext context) => context.Features.Get<IExceptionHandlerFeature>()?.Error is BadHttpRequestException wrong
        ? PageAnswers.Problem(wrong.StatusCode, Title(wrong.StatusCode), [Words(wrong)]).ExecuteAsync(context)
        : PageGuard.Refuse(context, StatusCodes.Status500InternalServerError, "The page failed at this; the capture is not touched by it.");

    private static string Title(int status) => status switch
    {
        StatusCodes.Status413PayloadTooLarge => "The body is too large.",
        StatusCodes.Status415UnsupportedMediaType => "The body must be application/json.",
        _ => "The call is wrong.",
    };

    private static string Words(BadHttpRequestException wrong)
    {
        if (wrong.StatusCode == StatusCodes.Status413PayloadTooLarge) return $"body: allowed are {PageLimits.BodyBytes} bytes";
        if (wrong.InnerException is JsonException json) return $"body{(json.Path is { Length: > 1 } path ? " at " + PageAnswers.Shown(path[1..].TrimStart('.')) : "")}: this is not the JSON that belongs here{(json.LineNumber is { } line ? $" (line {line + 1})" : "")}; /api/openapi.json has what does";
        return Parameter().Match(wrong.Message) is { Success: true } found
            ? $"{found.Groups["name"].Value}: '{PageAnswers.Shown(found.Groups["found"].Value)}'; allowed is {Allowed(found.Groups["type"].Value)}"
            : "the request cannot be read; /api/openapi.json has what is allowed";
    }

    private static string Allowed(string type) => type.Contains("double", StringComparison.OrdinalIgnoreCase) ? "a number, such as 1500"
        : type.Contains("int", StringComparison.OrdinalIgnoreCase) ? "a whole number"
        : type.Contains("bool", StringComparison.OrdinalIgnoreCase) ? "true or false"
        : "a text";

    [GeneratedRegex("parameter \"(?<type>.+) (?<name>\\w+)\" from \"(?<found>.*)\"", RegexOptions.Singleline | RegexOptions.CultureInvariant)]
    private static partial Regex Parameter();
}
